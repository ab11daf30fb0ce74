// Handing entries over: a file, a text, and the file of another phone.

import type { App } from "../app";
import type { Entry } from "../entries";
import { FileError, readFile, writeFile } from "../file";
import { differing, type Row, valueOf } from "../gathering";
import { differNode } from "../inputs";
import { missingOf } from "../missing";
import { showCell } from "../quantities";
import { labels, words } from "../words";

export function handoverScreen(app: App): HTMLElement[] {
  const { make, shelf } = app;
  const unhanded = make("p", { class: "said" });
  app.live(() => {
    unhanded.textContent = words.unhanded(shelf.unhanded().length);
  });
  return [
    make("h1", {}, words.handOver),
    unhanded,
    make("p", { class: "soft" }, words.evicted),
    ...missingNodes(app),
    ...handNodes(app),
    make("p", { class: "soft" }, words.ways),
    ...takeNodes(app),
    ...differenceNodes(app),
  ];
}

/** Things that the book would refuse as they are, each to be opened. */
function missingNodes(app: App): HTMLElement[] {
  const { make, shelf, plan } = app;
  const rows = shelf.rows().filter((row) => missingOf(row, plan).length > 0);
  if (rows.length === 0) return [];
  const lines = rows.map((row) => {
    const open = () => app.open(...standOf(row));
    const name = make("b", {}, nameOf(row));
    const lacks = make("span", { class: "soft" }, missingOf(row, plan).join(" "));
    return make("button", { type: "button", class: "line", click: open }, name, lacks);
  });
  return [make("h2", {}, words.stillMissing), ...lines];
}

function standOf(row: Row): [string, ...string[]] {
  const top = row.said.get("top")?.[0];
  if (row.kind === "layers") return ["layer", valueOf(row, "dig"), top?.heading ?? "", top?.text ?? ""];
  if (row.kind === "digs") return ["dig", valueOf(row, "dig")];
  return ["sample", valueOf(row, "sample")];
}

function nameOf(row: Row): string {
  const top = row.kind === "layers" ? row.said.get("top")?.[0] : undefined;
  const parts = [valueOf(row, "dig"), valueOf(row, "sample"), valueOf(row, "class")];
  if (top) parts.push(showCell(top.heading, top.text));
  return parts.filter(Boolean).join(", ");
}

function fileText(app: App, entries: readonly Entry[]): string {
  const { plan, shelf } = app;
  return writeFile(entries, {
    book: plan.book,
    plan_made_at: plan.made_at,
    saved_at: new Date().toISOString(),
    phone: shelf.settings.phone,
  });
}

/** Name a file so that two phones and two days never write the same. */
function fileName(app: App): string {
  const ground = app.plan.book.name.replace(/[^\p{L}\p{N}]+/gu, "-").slice(0, 40) || "ground";
  const time = new Date().toISOString().slice(0, 16).replace(/[:T]/g, "");
  return `${ground}-${time}-${app.shelf.settings.phone.slice(0, 4)}.json`;
}

/** The ways out of the phone; used here, and after every entry that is not kept. */
export function handNodes(app: App): HTMLElement[] {
  const { make, shelf, view } = app;
  const said = make("p", { class: "said", role: "status" });
  const asked = make("div", {});
  const text = make("textarea", { rows: "6", readonly: true, "aria-label": words.textLabel });
  const shown = make("details", {}, make("summary", {}, words.textLabel), text);
  const fill = () => {
    // Costly with many entries, so only where somebody looks.
    if (shown.open) text.value = fileText(app, shelf.all());
  };
  shown.addEventListener("toggle", fill);
  app.live(fill);
  const after = (entries: readonly Entry[]) => asked.replaceChildren(askNode(app, entries, asked));
  const save = () => {
    const entries = shelf.all();
    download(app, fileText(app, entries));
    after(entries);
  };
  const copy = async () => {
    const entries = shelf.all();
    said.textContent = (await copyText(view, fileText(app, entries))) ? words.copied : words.copyFailed;
    after(entries);
  };
  return [
    make("button", { type: "button", class: "wide main", click: save }, words.saveFile),
    ...sendNodes(app, after),
    make("button", { type: "button", class: "wide", click: copy }, words.copyText),
    said,
    asked,
    shown,
  ];
}

function download(app: App, text: string): void {
  const address = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  const link = app.make("a", { href: address, download: fileName(app), hidden: true });
  app.view.document.body.append(link);
  link.click();
  link.remove();
  app.view.setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

/** A button that hands the file to another program, where the phone can do that. */
function sendNodes(app: App, after: (entries: readonly Entry[]) => void): HTMLElement[] {
  const { make, shelf, view } = app;
  const pack = (text: string) => new File([text], fileName(app), { type: "application/json" });
  if (!view.navigator.canShare?.({ files: [pack("{}")] })) return [];
  const send = async () => {
    const entries = shelf.all();
    try {
      await view.navigator.share({ files: [pack(fileText(app, entries))] });
      after(entries);
    } catch {
      // The user closed the phone's own menu: nothing was sent, nothing is marked.
    }
  };
  return [make("button", { type: "button", class: "wide", click: send }, words.sendFile)];
}

async function copyText(view: Window, text: string): Promise<boolean> {
  try {
    await view.navigator.clipboard.writeText(text);
    return true;
  } catch {
    return false;
  }
}

/** Only the user knows whether a file arrived; until then nothing counts as handed over. */
function askNode(app: App, entries: readonly Entry[], asked: HTMLElement): HTMLElement {
  const { make, shelf } = app;
  const yes = () => {
    shelf.markHanded(entries);
    asked.replaceChildren();
  };
  return make(
    "div",
    { class: "card", role: "status" },
    make("p", {}, words.arrived),
    make(
      "div",
      { class: "row" },
      make("button", { type: "button", click: yes }, words.arrivedYes),
      make("button", { type: "button", class: "quiet", click: () => asked.replaceChildren() }, words.arrivedNo),
    ),
  );
}

function takeNodes(app: App): HTMLElement[] {
  const { make } = app;
  const said = make("p", { class: "said", role: "status" });
  const pick = make("input", { id: "take", type: "file", accept: ".json,.txt,application/json,text/plain" });
  const paste = make("textarea", { id: "paste", rows: "3" });
  const take = (text: string) => {
    said.textContent = takeIn(app, text);
  };
  pick.addEventListener("change", async () => {
    const text = await pick.files?.[0]?.text();
    if (text !== undefined) take(text);
    pick.value = "";
  });
  return [
    make("h2", {}, words.takeIn),
    make("label", { for: "take" }, words.takeIn),
    pick,
    make("label", { for: "paste" }, words.takeText),
    paste,
    make("button", { type: "button", class: "wide", click: () => take(paste.value) }, words.take),
    said,
  ];
}

/** Take in the file of another phone; return what came of it. */
function takeIn(app: App, text: string): string {
  try {
    const { entries, untouched } = readFile(text, app.plan.book);
    const count = app.shelf.takeIn(entries);
    return untouched ? words.taken(count) : `${words.taken(count)} ${words.takenEdited}`;
  } catch (failed) {
    if (failed instanceof FileError) return failed.message;
    throw failed;
  }
}

function differenceNodes(app: App): HTMLElement[] {
  const { make } = app;
  const place = make("div", {});
  app.live(() => {
    const rows = app.shelf.rows().filter((row) => differing(row).length > 0);
    const title = rows.length > 0 ? [make("h2", {}, words.differences)] : [];
    place.replaceChildren(...title, ...rows.map((row) => differenceNode(app, row)));
  });
  return [place];
}

function differenceNode(app: App, row: Row): HTMLElement {
  const { make } = app;
  const entry = row.entries[0];
  const key = entry ? entry.cells : {};
  const parts = differing(row).map((name) => {
    const said = row.said.get(name) ?? [];
    const texts = said.map((one) => showCell(one.heading, one.text)).join(" | ");
    return make(
      "div",
      {},
      make("p", {}, `${labels[name] ?? name}: ${texts}`),
      differNode(app, { kind: row.kind, key }, said),
    );
  });
  return make("section", { class: "card" }, make("h3", {}, nameOf(row)), ...parts);
}
