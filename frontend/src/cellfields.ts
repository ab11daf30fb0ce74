// The field that a cell of a table is written in.

/** Return what a cell is written in: a choice of words, or a line. */
export function makeField(
  page: Document,
  cell: HTMLTableCellElement,
  text: string,
): HTMLInputElement | HTMLSelectElement {
  const label = `${cell.dataset["field"] ?? ""}`;
  if (cell.dataset["kind"] === "choice") {
    const field = page.createElement("select");
    for (const choice of ["", ...(cell.dataset["choices"] ?? "").split("|")]) {
      field.add(new Option(choice.replaceAll("_", " "), choice));
    }
    field.value = nearest(field, text);
    field.setAttribute("aria-label", label);
    return field;
  }
  const field = page.createElement("input");
  field.value = text;
  field.autocomplete = "off";
  field.setAttribute("aria-label", label);
  if (cell.dataset["kind"] === "number") field.inputMode = "decimal";
  if (cell.dataset["kind"] === "count") field.inputMode = "numeric";
  return field;
}

/** The choice that a text is, or begins. */
function nearest(field: HTMLSelectElement, text: string): string {
  const values = [...field.options].map((option) => option.value);
  if (!text || values.includes(text)) return text;
  return values.find((value) => value.startsWith(text.toLowerCase())) ?? "";
}

/** Return the words that are offered beside a line. */
export function makeChoices(page: Document, cell: HTMLElement, field: Element): HTMLElement[] {
  if (cell.dataset["kind"] !== "offer") return [];
  const list = page.createElement("datalist");
  list.id = "words-offered";
  for (const choice of (cell.dataset["choices"] ?? "").split("|")) {
    list.append(new Option(choice));
  }
  field.setAttribute("list", list.id);
  return [list];
}
