// Rows typed below the others: kept when they are left, or marked with what is missing.

import { send, type Told } from "./page.js";

/** What a sheet does with the answer to a new row. */
export interface Taker {
  kept(row: HTMLTableRowElement, told: Told): void;
  refused(row: HTMLTableRowElement, told: Told): void;
}

/** The cells of a row that can be typed into. */
export function cellsOf(row: Element | null): HTMLTableCellElement[] {
  return row ? [...row.querySelectorAll<HTMLTableCellElement>("td[data-field]")] : [];
}

/** Tell whether anything is typed into a row. */
export function isFilled(row: Element): boolean {
  return cellsOf(row).some((cell) => cell.textContent.trim() !== "");
}

export class NewRows {
  private readonly sending = new Map<Element, Promise<boolean>>();

  constructor(
    private readonly page: Document,
    private readonly body: HTMLTableSectionElement,
    private readonly address: string,
    private readonly taker: Taker,
  ) {}

  /** The rows that are not in the book yet; the last of them is blank. */
  all(): HTMLTableRowElement[] {
    return [...this.body.querySelectorAll<HTMLTableRowElement>("tr[data-new]")];
  }

  /** Whether a row has text that is not in the book. */
  areOpen(): boolean {
    return this.all().some(isFilled);
  }

  /** Keep a row; true when nothing of it is left unkept. */
  keep(row: HTMLTableRowElement): Promise<boolean> {
    const running = this.sending.get(row);
    if (running) return running;
    if (!isFilled(row)) {
      if (row !== this.all().at(-1)) row.remove();
      return Promise.resolve(true);
    }
    const work = this.put(row).finally(() => this.sending.delete(row));
    this.sending.set(row, work);
    return work;
  }

  /** Keep every row that has text; true when all of them could be. */
  async keepAll(): Promise<boolean> {
    const kept = await Promise.all(this.all().map((row) => this.keep(row)));
    return kept.every(Boolean);
  }

  private async put(row: HTMLTableRowElement): Promise<boolean> {
    const fields: Record<string, string> = {};
    for (const cell of cellsOf(row)) {
      const name = cell.dataset["field"] ?? "";
      fields[name] = cell.textContent.trim();
      if (cell.dataset["unitNow"]) fields[`${name}.unit`] = cell.dataset["unitNow"];
    }
    this.addBlank(row);
    row.setAttribute("aria-busy", "true");
    const { ok, told } = await send(this.page, `${this.address}/add`, fields);
    row.removeAttribute("aria-busy");
    if (ok) this.taker.kept(row, told);
    else {
      row.classList.add("unkept");
      this.taker.refused(row, told);
    }
    return ok;
  }

  /** Leave a blank row below, so that one can type on while the book answers. */
  private addBlank(row: HTMLTableRowElement): void {
    if (this.all().at(-1) !== row) return;
    const blank = row.cloneNode(true) as HTMLTableRowElement;
    blank.classList.remove("unkept");
    delete blank.dataset["said"];
    for (const cell of cellsOf(blank)) {
      cell.textContent = "";
      cell.tabIndex = -1;
      cell.classList.remove("wrong", "editing");
      cell.removeAttribute("aria-invalid");
      cell.removeAttribute("title");
      delete cell.dataset["said"];
    }
    row.after(blank);
  }
}
