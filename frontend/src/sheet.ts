// Tables of the record: move with the arrows, type to write, paste from a spreadsheet.

import { say, send, type Told } from "./page.js";

/** Attach every table of the record in a page. */
export function attachSheets(page: Document): void {
  for (const holder of page.querySelectorAll<HTMLElement>("[data-sheet]")) {
    new Sheet(page, holder);
  }
}

const MOVES: Record<string, [number, number]> = {
  ArrowUp: [-1, 0],
  ArrowDown: [1, 0],
  ArrowLeft: [0, -1],
  ArrowRight: [0, 1],
  Enter: [1, 0],
};

class Sheet {
  private readonly address: string;
  private readonly body: HTMLTableSectionElement;
  private readonly wrong: HTMLElement | null;
  private lastBatch: string | null = null;

  constructor(
    private readonly page: Document,
    private readonly holder: HTMLElement,
  ) {
    this.address = holder.dataset["sheet"] ?? "";
    const body = holder.querySelector("tbody");
    if (!body) throw new Error(`sheet without a body: ${this.address}`);
    this.body = body;
    this.wrong = page.getElementById("wrong");
    const first = this.body.querySelector<HTMLElement>("td[data-field]");
    if (first) first.tabIndex = 0;
    this.listen();
  }

  private listen(): void {
    this.body.addEventListener("keydown", (event) => this.onKey(event));
    this.body.addEventListener("dblclick", (event) => this.onOpen(event));
    this.body.addEventListener("click", (event) => this.onClick(event));
    this.body.addEventListener("focusin", (event) => this.onFocus(event));
    this.body.addEventListener("copy", (event) => this.onCopy(event));
    this.body.addEventListener("paste", (event) => this.onPaste(event));
    for (const choice of this.holder.querySelectorAll<HTMLSelectElement>("[data-unit]")) {
      choice.addEventListener("change", () => this.changeUnit(choice));
    }
  }

  private cellOf(target: EventTarget | null): HTMLTableCellElement | null {
    if (!(target instanceof Element)) return null;
    return target.closest<HTMLTableCellElement>("td[data-field]");
  }

  private onFocus(event: FocusEvent): void {
    const cell = this.cellOf(event.target);
    if (!cell) return;
    for (const one of this.body.querySelectorAll<HTMLElement>('td[tabindex="0"]')) {
      one.tabIndex = -1;
    }
    cell.tabIndex = 0;
    const link = cell.parentElement?.querySelector<HTMLElement>(".row-doing a");
    for (const one of this.body.querySelectorAll<HTMLElement>('.row-doing a[tabindex="0"]')) {
      one.tabIndex = -1;
    }
    if (link) link.tabIndex = 0;
  }

  private onClick(event: MouseEvent): void {
    const cell = this.cellOf(event.target);
    if (!cell || cell.classList.contains("editing")) return;
    const again = this.page.activeElement === cell && cell.dataset["seen"] === "yes";
    cell.focus();
    const touch = window.matchMedia("(pointer: coarse)").matches;
    if (touch || again) this.edit(cell);
    cell.dataset["seen"] = "yes";
  }

  private onOpen(event: MouseEvent): void {
    const cell = this.cellOf(event.target);
    if (cell) this.edit(cell);
  }

  private onKey(event: KeyboardEvent): void {
    const cell = this.cellOf(event.target);
    if (!cell || cell.classList.contains("editing")) return;
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z") {
      event.preventDefault();
      void this.undo();
      return;
    }
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const move = MOVES[event.key];
    if (event.key === "F2" || event.key === " ") this.edit(cell);
    else if (event.key === "Delete" || event.key === "Backspace") {
      void this.keep(cell, "");
    } else if (event.key === "Enter" && this.isNew(cell)) void this.addRow(cell);
    else if (move) this.move(cell, move[0], move[1]);
    else if (event.key === "Home") this.move(cell, 0, -99);
    else if (event.key === "End") this.move(cell, 0, 99);
    else if (event.key.length === 1) this.edit(cell, event.key);
    else return;
    event.preventDefault();
  }

  private cells(row: Element | null): HTMLTableCellElement[] {
    return row ? [...row.querySelectorAll<HTMLTableCellElement>("td[data-field]")] : [];
  }

  private move(cell: HTMLTableCellElement, down: number, right: number): boolean {
    const rows = [...this.body.rows];
    const row = rows.indexOf(cell.parentElement as HTMLTableRowElement);
    const column = this.cells(cell.parentElement).indexOf(cell);
    const target = this.cells(rows[row + down] ?? null);
    const at = Math.min(Math.max(column + right, 0), target.length - 1);
    const found = target[at];
    found?.focus();
    found?.scrollIntoView({ block: "nearest", inline: "nearest" });
    return found !== undefined && found !== cell;
  }

  private isNew(cell: Element): boolean {
    return cell.parentElement?.hasAttribute("data-new") ?? false;
  }

  /** Open a cell for writing; a first letter takes the place of what stood there. */
  private edit(cell: HTMLTableCellElement, letter?: string): void {
    if (cell.classList.contains("editing")) return;
    const was = cell.textContent.trim();
    const field = this.makeField(cell, letter ?? was);
    cell.classList.add("editing");
    cell.replaceChildren(field, ...this.makeChoices(cell, field));
    field.focus();
    if (field instanceof HTMLInputElement) {
      if (letter === undefined) field.select();
      else field.setSelectionRange(letter.length, letter.length);
    }
    let over = false;
    const finish = (keep: boolean): void => {
      if (over) return;
      over = true;
      const text = field.value.trim();
      cell.classList.remove("editing");
      cell.textContent = was;
      if (keep && text !== was) void this.keep(cell, text);
    };
    field.addEventListener("blur", () => finish(true));
    field.addEventListener("keydown", (event) => {
      if (!(event instanceof KeyboardEvent)) return;
      this.onFieldKey(event, cell, finish);
    });
  }

  private onFieldKey(
    event: KeyboardEvent,
    cell: HTMLTableCellElement,
    finish: (keep: boolean) => void,
  ): void {
    event.stopPropagation();
    if (event.key === "Escape") {
      finish(false);
      cell.focus();
    } else if (event.key === "Enter") {
      event.preventDefault();
      finish(true);
      if (this.isNew(cell)) cell.focus();
      else this.move(cell, event.shiftKey ? -1 : 1, 0);
      if (this.isNew(cell)) void this.addRow(cell);
    } else if (event.key === "Tab") {
      const moved = this.tabTo(cell, event.shiftKey ? -1 : 1, () => finish(true));
      if (moved) event.preventDefault();
    }
  }

  private tabTo(cell: HTMLTableCellElement, right: number, finish: () => void): boolean {
    const row = this.cells(cell.parentElement);
    const next = row[row.indexOf(cell) + right];
    finish();
    next?.focus();
    return next !== undefined;
  }

  private makeField(
    cell: HTMLTableCellElement,
    text: string,
  ): HTMLInputElement | HTMLSelectElement {
    const label = `${cell.dataset["field"] ?? ""}`;
    if (cell.dataset["kind"] === "choice") {
      const field = this.page.createElement("select");
      for (const choice of ["", ...(cell.dataset["choices"] ?? "").split("|")]) {
        field.add(new Option(choice.replaceAll("_", " "), choice));
      }
      field.value = this.nearest(field, text);
      field.setAttribute("aria-label", label);
      return field;
    }
    const field = this.page.createElement("input");
    field.value = text;
    field.autocomplete = "off";
    field.setAttribute("aria-label", label);
    if (cell.dataset["kind"] === "number") field.inputMode = "decimal";
    if (cell.dataset["kind"] === "count") field.inputMode = "numeric";
    return field;
  }

  /** The choice that a text is, or begins. */
  private nearest(field: HTMLSelectElement, text: string): string {
    const values = [...field.options].map((option) => option.value);
    if (!text || values.includes(text)) return text;
    return values.find((value) => value.startsWith(text.toLowerCase())) ?? "";
  }

  private makeChoices(cell: HTMLElement, field: Element): HTMLElement[] {
    if (cell.dataset["kind"] !== "offer") return [];
    const list = this.page.createElement("datalist");
    list.id = "words-offered";
    for (const choice of (cell.dataset["choices"] ?? "").split("|")) {
      list.append(new Option(choice));
    }
    field.setAttribute("list", list.id);
    return [list];
  }

  /** Keep what was typed into a cell; a new row is sent when it is left. */
  private async keep(cell: HTMLTableCellElement, text: string): Promise<void> {
    if (this.isNew(cell)) {
      cell.textContent = text;
      return;
    }
    const row = cell.closest("tr");
    const was = cell.textContent.trim();
    if (!row || text === was) return;
    cell.textContent = text;
    const { ok, told } = await send(this.page, `${this.address}/cell`, {
      key: row.dataset["key"] ?? "",
      field: cell.dataset["field"] ?? "",
      unit: cell.dataset["unitNow"] ?? "",
      was,
      text,
    });
    if (ok) this.showKept(row, told);
    else {
      cell.textContent = told.now ?? was;
      this.complain(told, row);
      this.say(told.now === undefined ? `Not kept: ${text}` : "Changed elsewhere meanwhile");
    }
  }

  /** Add the row that was typed below the others. */
  private async addRow(cell: HTMLTableCellElement): Promise<void> {
    const row = cell.closest("tr");
    if (!row) return;
    const fields: Record<string, string> = {};
    for (const one of this.cells(row)) {
      const name = one.dataset["field"] ?? "";
      fields[name] = one.textContent.trim();
      if (one.dataset["unitNow"]) fields[`${name}.unit`] = one.dataset["unitNow"];
    }
    if (Object.entries(fields).every(([name, text]) => name.endsWith(".unit") || !text)) return;
    const { ok, told } = await send(this.page, `${this.address}/add`, fields);
    if (!ok) {
      this.complain(told, row);
      return;
    }
    this.noComplaint();
    row.insertAdjacentHTML("beforebegin", told.row ?? "");
    for (const one of this.cells(row)) one.textContent = "";
    this.remember(told);
    this.cells(row)[0]?.focus();
  }

  private showKept(row: HTMLTableRowElement, told: Told): void {
    this.noComplaint();
    const focused = this.page.activeElement;
    const column = this.cells(row).indexOf(focused as HTMLTableCellElement);
    row.insertAdjacentHTML("afterend", told.row ?? "");
    const fresh = row.nextElementSibling;
    row.remove();
    if (column >= 0) this.cells(fresh)[column]?.focus();
    this.remember(told);
  }

  private remember(told: Told): void {
    this.lastBatch = told.batch ?? null;
    this.say(told.said ?? "Kept", this.lastBatch !== null);
  }

  private say(text: string, canUndo = false): void {
    say(this.page, text, canUndo ? () => void this.undo() : undefined);
  }

  private async undo(): Promise<void> {
    if (!this.lastBatch) {
      this.say("Nothing to take back on this page; the history has the rest.");
      return;
    }
    const address = this.holder.dataset["undo"] ?? "";
    const { ok, told } = await send(this.page, address, { batch: this.lastBatch });
    if (ok) window.location.reload();
    else this.complain(told);
  }

  private complain(told: Told, row?: Element): void {
    const items: string[] = [];
    const { errors } = told;
    if (Array.isArray(errors)) {
      for (const one of errors) {
        items.push(`Pasted row ${one.row}${one.field ? `, ${one.field}` : ""}: ${one.said}`);
      }
    } else {
      for (const [name, said] of Object.entries(errors ?? {})) {
        items.push(said);
        const cell = this.cells(row ?? null).find((one) => one.dataset["field"] === name);
        cell?.classList.add("wrong");
        cell?.setAttribute("aria-invalid", "true");
      }
    }
    items.push(...(told.lines ?? []));
    this.wrong?.replaceChildren(
      ...items.map((text) => {
        const item = this.page.createElement("li");
        item.textContent = text;
        return item;
      }),
    );
  }

  private noComplaint(): void {
    this.wrong?.replaceChildren();
    for (const cell of this.body.querySelectorAll(".wrong")) {
      cell.classList.remove("wrong");
      cell.removeAttribute("aria-invalid");
    }
  }

  private onCopy(event: ClipboardEvent): void {
    const cell = this.cellOf(event.target);
    if (!cell || cell.classList.contains("editing")) return;
    event.clipboardData?.setData("text/plain", cell.textContent.trim());
    event.preventDefault();
  }

  private onPaste(event: ClipboardEvent): void {
    const cell = this.cellOf(event.target);
    const text = event.clipboardData?.getData("text/plain") ?? "";
    if (!cell || cell.classList.contains("editing") || !text.trim()) return;
    event.preventDefault();
    if (!/[\t\n]/.test(text.trimEnd())) void this.keep(cell, text.trim());
    else void this.pasteRows(cell, text);
  }

  private async pasteRows(cell: HTMLTableCellElement, text: string): Promise<void> {
    const rows = [...this.body.rows];
    const from = rows.indexOf(cell.parentElement as HTMLTableRowElement);
    const keys = rows.slice(from).flatMap((row) => row.dataset["key"] ?? []);
    const { ok, told } = await send(this.page, `${this.address}/paste`, {
      field: cell.dataset["field"] ?? "",
      keys: JSON.stringify(keys),
      text,
    });
    if (ok) window.location.reload();
    else this.complain(told);
  }

  private changeUnit(choice: HTMLSelectElement): void {
    const address = new URL(window.location.href);
    address.searchParams.set(`unit.${choice.dataset["unit"] ?? ""}`, choice.value);
    window.location.assign(address);
  }
}
