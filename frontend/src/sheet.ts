// Tables of the record: move with the arrows, type to write, paste from a spreadsheet.

import { makeChoices, makeField } from "./cellfields.js";
import { Leaving } from "./leaving.js";
import { cellsOf, isFilled, NewRows } from "./newrows.js";
import { say, send, type Told } from "./page.js";
import { carryOver, clear, list, mark } from "./complaints.js";

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
  private readonly news: NewRows;
  private readonly leaving: Leaving;
  private readonly sending = new Set<Promise<void>>();
  private lastBatch: string | null = null;
  /** Ends the writing in the cell that is open. */
  private finish: (() => void) | null = null;
  /** Whether somebody types: then Tab goes from cell to cell. */
  private typing = false;
  /** Whether Escape was pressed: then Tab leaves the table from anywhere in it. */
  private passing = false;

  constructor(
    private readonly page: Document,
    private readonly holder: HTMLElement,
  ) {
    this.address = holder.dataset["sheet"] ?? "";
    const body = holder.querySelector("tbody");
    if (!body) throw new Error(`sheet without a body: ${this.address}`);
    this.body = body;
    this.news = new NewRows(page, body, this.address, {
      kept: (row, told) => this.takeRow(row, told),
      refused: (row, told) => this.complain(told, row),
    });
    this.leaving = new Leaving(page, window, {
      isOpen: () => this.isOpen(),
      settle: () => this.settle(),
    });
    const first = this.body.querySelector<HTMLElement>("td[data-field]");
    if (first) first.tabIndex = 0;
    this.listen();
  }

  private listen(): void {
    this.body.addEventListener("keydown", (event) => this.onKey(event));
    this.body.addEventListener("dblclick", (event) => this.onOpen(event));
    this.body.addEventListener("click", (event) => this.onClick(event));
    this.body.addEventListener("focusin", (event) => this.onFocus(event));
    this.body.addEventListener("focusout", (event) => this.onBlur(event));
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

  /** Keep a new row that is left, wherever one goes on. */
  private onBlur(event: FocusEvent): void {
    this.watch(event.target instanceof Element ? event.target.closest("tr") : null);
  }

  private watch(row: HTMLTableRowElement | null): void {
    setTimeout(() => {
      if (!this.page.hasFocus()) return;
      const focused = this.page.activeElement;
      if (!this.body.contains(focused)) this.typing = this.passing = false;
      if (row?.isConnected && this.isNew(row) && !row.contains(focused)) void this.news.keep(row);
    });
  }

  private isOpen(): boolean {
    if (this.finish || this.sending.size > 0 || this.news.areOpen()) return true;
    return this.body.querySelector("td[data-stands]") !== null;
  }

  private async settle(): Promise<boolean> {
    this.finish?.();
    const rows = await this.news.keepAll();
    await Promise.all(this.sending);
    return rows && this.body.querySelector("td[data-stands]") === null;
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
    } else if (event.key === "Enter" && this.isNewCell(cell)) void this.enterRow(cell);
    else if (event.key === "Tab") {
      if (!this.tab(cell, event.shiftKey)) return;
    } else if (event.key === "Escape") this.escape(cell);
    else if (move) this.move(cell, move[0], move[1]);
    else if (event.key === "Home") this.move(cell, 0, -99);
    else if (event.key === "End") this.move(cell, 0, 99);
    else if (event.key.length === 1) this.edit(cell, event.key);
    else return;
    event.preventDefault();
  }

  /** Bring back what the book says, and let Tab leave the table. */
  private escape(cell: HTMLTableCellElement): void {
    this.typing = false;
    this.passing = true;
    const { stands } = cell.dataset;
    if (stands === undefined) return;
    cell.textContent = stands;
    clear(cell);
    list(this.page, this.body);
  }

  /** Go to the next cell, over the end of a row; false where Tab leaves the table. */
  private tab(cell: HTMLTableCellElement, back: boolean): boolean {
    const row = cell.closest("tr");
    if (!row || this.passing || !(this.typing || this.isNew(row))) return false;
    const cells = cellsOf(row);
    let next = cells[cells.indexOf(cell) + (back ? -1 : 1)];
    if (!next && this.isNew(row) && !isFilled(row)) return false;
    if (!next && !back && this.isNew(row)) {
      void this.enterRow(cell);
      return true;
    }
    if (!next) {
      const over = back ? row.previousElementSibling : row.nextElementSibling;
      next = cellsOf(over).at(back ? -1 : 0);
    }
    next?.focus();
    next?.scrollIntoView({ block: "nearest", inline: "nearest" });
    return next !== undefined;
  }

  /** Keep a new row and go on in the next; come back if something is missing. */
  private async enterRow(cell: HTMLTableCellElement): Promise<void> {
    const row = cell.closest("tr");
    if (!row) return;
    const kept = this.news.keep(row);
    cellsOf(row.nextElementSibling)[0]?.focus();
    if (await kept) return;
    const at = this.page.activeElement?.closest("tr");
    if (at && this.isNew(at) && !isFilled(at) && !at.querySelector(".editing")) {
      (row.querySelector<HTMLElement>("td.wrong") ?? cell).focus();
    }
  }

  private move(cell: HTMLTableCellElement, down: number, right: number): boolean {
    const rows = [...this.body.rows];
    const row = rows.indexOf(cell.parentElement as HTMLTableRowElement);
    const column = cellsOf(cell.parentElement).indexOf(cell);
    const target = cellsOf(rows[row + down] ?? null);
    const at = Math.min(Math.max(column + right, 0), target.length - 1);
    const found = target[at];
    found?.focus();
    found?.scrollIntoView({ block: "nearest", inline: "nearest" });
    return found !== undefined && found !== cell;
  }

  private isNew(row: Element): boolean {
    return row.hasAttribute("data-new");
  }

  private isNewCell(cell: Element): boolean {
    return cell.parentElement !== null && this.isNew(cell.parentElement);
  }

  /** Open a cell for writing; a first letter takes the place of what stood there. */
  private edit(cell: HTMLTableCellElement, letter?: string): void {
    if (cell.classList.contains("editing") || cell.closest("[aria-busy]")) return;
    this.typing = true;
    this.passing = false;
    const was = cell.textContent.trim();
    const field = makeField(this.page, cell, letter ?? was);
    cell.classList.add("editing");
    cell.replaceChildren(field, ...makeChoices(this.page, cell, field));
    field.focus();
    if (field instanceof HTMLInputElement) {
      if (letter === undefined) field.select();
      else field.setSelectionRange(letter.length, letter.length);
    }
    let over = false;
    const finish = (keep: boolean): void => {
      if (over) return;
      over = true;
      this.finish = null;
      const text = field.value.trim();
      cell.classList.remove("editing");
      cell.textContent = was;
      if (keep && text !== was) void this.keep(cell, text);
    };
    this.finish = () => finish(true);
    field.addEventListener("blur", () => {
      // Once it is taken out of the table, the table hears no more of it.
      this.watch(cell.closest("tr"));
      finish(true);
    });
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
      if (this.isNewCell(cell)) void this.enterRow(cell);
      else this.move(cell, event.shiftKey ? -1 : 1, 0);
    } else if (event.key === "Tab") {
      finish(true);
      cell.focus();
      if (this.tab(cell, event.shiftKey)) event.preventDefault();
    }
  }

  /** Keep what was typed into a cell; a new row is sent when it is left. */
  private async keep(cell: HTMLTableCellElement, text: string): Promise<void> {
    if (this.isNewCell(cell)) {
      cell.textContent = text;
      clear(cell);
      return;
    }
    const work = this.change(cell, text);
    this.sending.add(work);
    await work;
    this.sending.delete(work);
  }

  private async change(cell: HTMLTableCellElement, text: string): Promise<void> {
    const row = cell.closest("tr");
    const was = cell.dataset["stands"] ?? cell.textContent.trim();
    if (!row) return;
    cell.textContent = text;
    clear(cell);
    if (text === was) return list(this.page, this.body);
    const { ok, told } = await send(this.page, `${this.address}/cell`, {
      key: row.dataset["key"] ?? "",
      field: cell.dataset["field"] ?? "",
      unit: cell.dataset["unitNow"] ?? "",
      was,
      text,
    });
    if (ok) return this.showKept(row, told);
    // What was typed stays where it stands until it is mended or taken back.
    cell.dataset["stands"] = was;
    if (told.now !== undefined) {
      cell.textContent = told.now;
      delete cell.dataset["stands"];
      told.lines = [`You had typed ${text || "nothing"}.`];
    }
    this.complain(told, row);
    const stays = `Not kept: ${text}. Escape brings ${was || "the empty cell"} back.`;
    this.say(told.now === undefined ? stays : "Changed elsewhere meanwhile");
  }

  /** Put a new row that is kept now where it belongs. */
  private takeRow(row: HTMLTableRowElement, told: Told): void {
    const column = cellsOf(row).findIndex((cell) => cell.contains(this.page.activeElement));
    const above = this.keyed().find((one) => one.dataset["key"] === told.after);
    const first = this.news.all()[0] ?? row;
    if (told.after && above) above.insertAdjacentHTML("afterend", told.row ?? "");
    else first.insertAdjacentHTML("beforebegin", told.row ?? "");
    const fresh = this.keyed().find((one) => one.dataset["key"] === told.key);
    row.remove();
    if (column >= 0) cellsOf(fresh ?? null)[column]?.focus();
    list(this.page, this.body);
    this.remember(told);
  }

  private keyed(): HTMLTableRowElement[] {
    return [...this.body.rows].filter((row) => row.dataset["key"] !== undefined);
  }

  private showKept(row: HTMLTableRowElement, told: Told): void {
    const column = cellsOf(row).indexOf(this.page.activeElement as HTMLTableCellElement);
    row.insertAdjacentHTML("afterend", told.row ?? "");
    const fresh = row.nextElementSibling as HTMLTableRowElement;
    carryOver(row, fresh);
    row.remove();
    if (column >= 0) cellsOf(fresh)[column]?.focus();
    list(this.page, this.body);
    this.remember(told);
  }

  private remember(told: Told): void {
    this.lastBatch = told.batch ?? null;
    this.showCounts(told);
    this.say(told.said ?? "Kept", this.lastBatch !== null);
  }

  private showCounts(told: Told): void {
    const state = this.page.querySelector(".strip .state");
    if (state && told.state) state.outerHTML = told.state;
    const all = this.page.querySelector<HTMLOptionElement>('select[name="only"] option[value=""]');
    if (all && told.of !== undefined) all.textContent = `all ${told.of}`;
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
    if (!ok) {
      this.complain(told);
      return;
    }
    this.lastBatch = null;
    await this.refresh();
    this.showCounts(told);
    this.say(told.said ?? "Taken back");
  }

  /** Show the rows as the book has them now; what is not kept stays. */
  private async refresh(): Promise<void> {
    const focused = this.cellOf(this.page.activeElement);
    const { key } = focused?.closest("tr")?.dataset ?? {};
    const answer = await fetch(window.location.href);
    const read = new DOMParser().parseFromString(await answer.text(), "text/html");
    const old = new Map(this.keyed().map((row) => [row.dataset["key"], row]));
    const first = this.news.all()[0] ?? null;
    for (const row of read.querySelectorAll<HTMLTableRowElement>("[data-sheet] tr[data-key]")) {
      const before = old.get(row.dataset["key"]);
      const fresh = this.page.importNode(row, true);
      if (before) carryOver(before, fresh);
      this.body.insertBefore(fresh, first);
    }
    for (const row of old.values()) row.remove();
    const state = read.querySelector(".strip .state")?.outerHTML;
    if (state) this.showCounts({ state });
    list(this.page, this.body);
    const again = this.keyed().find((row) => row.dataset["key"] === key) ?? this.body.rows[0];
    const same = cellsOf(again ?? null).find(
      (cell) => cell.dataset["field"] === focused?.dataset["field"],
    );
    if (!this.body.contains(this.page.activeElement)) same?.focus();
    if (!this.body.querySelector('td[tabindex="0"]') && same) same.tabIndex = 0;
  }

  private complain(told: Told, row?: Element): void {
    list(this.page, this.body, mark(told, row));
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
    if (!ok) {
      this.complain(told);
      return;
    }
    await this.refresh();
    this.remember(told);
  }

  private changeUnit(choice: HTMLSelectElement): void {
    const address = new URL(window.location.href);
    address.searchParams.set(`unit.${choice.dataset["unit"] ?? ""}`, choice.value);
    void this.leaving.leave(() => window.location.assign(address));
  }
}
