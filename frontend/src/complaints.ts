// What is wrong in a table: marked at its cell, and said above the table.

import { cellsOf } from "./newrows.js";
import type { Told } from "./page.js";

/** Mark the cells of a row that are complained about; return what no cell can show. */
export function mark(told: Told, row?: Element): string[] {
  const { errors } = told;
  const loose = [...(told.lines ?? [])];
  if (Array.isArray(errors)) {
    for (const one of errors) {
      loose.push(`Pasted row ${one.row}${one.field ? `, ${one.field}` : ""}: ${one.said}`);
    }
    return loose;
  }
  for (const cell of cellsOf(row ?? null)) {
    if (row?.hasAttribute("data-new")) clear(cell);
  }
  for (const [name, said] of Object.entries(errors ?? {})) {
    const cell = cellsOf(row ?? null).find((one) => one.dataset["field"] === name);
    if (!cell) {
      loose.push(said);
      continue;
    }
    cell.classList.add("wrong");
    cell.setAttribute("aria-invalid", "true");
    cell.title = said;
    cell.dataset["said"] = said;
  }
  return loose;
}

/** Take the mark from a cell. */
export function clear(cell: HTMLElement): void {
  cell.classList.remove("wrong");
  cell.removeAttribute("aria-invalid");
  cell.removeAttribute("title");
  delete cell.dataset["said"];
  delete cell.dataset["stands"];
}

/** Write all complaints above the table. */
export function list(page: Document, body: Element, loose: string[] = []): void {
  const items = [...body.querySelectorAll<HTMLElement>("td[data-said]")].map((cell) => {
    const isNew = cell.parentElement?.hasAttribute("data-new");
    return `${isNew ? "New row, not kept yet: " : ""}${cell.dataset["said"] ?? ""}`;
  });
  page.getElementById("wrong")?.replaceChildren(
    ...[...items, ...loose].map((text) => {
      const item = page.createElement("li");
      item.textContent = text;
      return item;
    }),
  );
}

/** Bring what is typed but not kept from a row to the one that takes its place. */
export function carryOver(from: Element, to: Element): void {
  const fresh = cellsOf(to);
  for (const [at, cell] of cellsOf(from).entries()) {
    const next = fresh[at];
    if (cell.dataset["stands"] === undefined || !next) continue;
    next.dataset["stands"] = next.textContent.trim();
    next.dataset["said"] = cell.dataset["said"] ?? "";
    next.textContent = cell.textContent;
    next.classList.add("wrong");
    next.setAttribute("aria-invalid", "true");
    next.title = cell.title;
  }
}
