// Entries of several phones about one thing, laid together name by name.
//
// Where they agree, or only one says something, there is one value. Where they differ
// all values stand side by side, until somebody settles it. Nothing is thrown away.

import { type Cells, type Entry, type Kind, keyNames } from "./entries";
import { insideValue, saySame, splitHeading } from "./quantities";

/** One value of a name, and who wrote it. */
export interface Said {
  heading: string;
  text: string;
  phone: string;
}

/** One thing, as all phones together tell it. */
export interface Row {
  kind: Kind;
  key: string;
  entries: Entry[];
  /** By name; more than one where phones differ. */
  said: Map<string, Said[]>;
}

/** Return what tells one thing from another, the same for every unit. */
export function keyOf(kind: Kind, cells: Cells): string {
  const parts = keyNames[kind].map((name) => {
    const found = Object.entries(cells).find(([one]) => splitHeading(one).name === name);
    if (!found) return "";
    const inside = insideValue(...found);
    return inside === null ? found[1].trim() : inside.toFixed(3);
  });
  return JSON.stringify([kind, ...parts]);
}

/** How a settled value is written down. */
export function settledText(said: Said): string {
  return `${said.heading}=${said.text.trim()}`;
}

function isSettled(said: Said, name: string, entries: readonly Entry[]): boolean {
  return entries.some(
    (entry) => entry.phone !== said.phone && entry.settles[name]?.includes(settledText(said)),
  );
}

function addSaid(all: Said[], said: Said): void {
  const same = all.some((one) => saySame([one.heading, one.text], [said.heading, said.text]));
  if (!same) all.push(said);
}

/** Lay the values of one thing together. */
export function layTogether(entries: readonly Entry[]): Map<string, Said[]> {
  const every = new Map<string, Said[]>();
  for (const entry of entries) {
    for (const [heading, text] of Object.entries(entry.cells)) {
      const { name } = splitHeading(heading);
      const all = every.get(name) ?? [];
      addSaid(all, { heading, text, phone: entry.phone });
      every.set(name, all);
    }
  }
  for (const [name, all] of every) every.set(name, stillSaid(all, name, entries));
  return every;
}

/** Leave out what was settled, unless that would leave nothing. */
function stillSaid(all: Said[], name: string, entries: readonly Entry[]): Said[] {
  const open = all.filter((said) => !isSettled(said, name, entries));
  return open.length > 0 ? open : all;
}

function byTime(one: Entry, other: Entry): number {
  if (one.changed_at !== other.changed_at) return one.changed_at < other.changed_at ? -1 : 1;
  return one.id < other.id ? -1 : 1;
}

/** Return every thing that entries tell of, removed ones left out. */
export function gather(entries: Iterable<Entry>): Row[] {
  const rows = new Map<string, Row>();
  for (const entry of [...entries].sort(byTime)) {
    if (entry.removed) continue;
    const key = keyOf(entry.kind, entry.cells);
    const row: Row = rows.get(key) ?? { kind: entry.kind, key, entries: [], said: new Map() };
    row.entries.push(entry);
    rows.set(key, row);
  }
  for (const row of rows.values()) row.said = layTogether(row.entries);
  return [...rows.values()];
}

/** Words that two people may both write about one thing: they are joined. */
const joinedNames: ReadonlySet<string> = new Set(["note", "by", "photos", "landmark"]);

/** Names that are one measurement together and are settled together. */
export const positionNames: readonly string[] = ["longitude", "latitude", "position_error_m"];

/** Return one text for what is said of a name; the first where phones differ. */
export function shownText(name: string, said: readonly Said[]): string {
  const texts = said.map(({ text }) => text).filter(Boolean);
  if (joinedNames.has(name)) return texts.join("; ");
  return (name === "date" ? texts.sort()[0] : said[0]?.text) ?? "";
}

/** Return the one value of a name, or the first where phones differ. */
export function valueOf(row: Row | undefined, name: string): string {
  return shownText(name, row?.said.get(name) ?? []);
}

/** Tell whether phones differ about a name so that somebody must settle it. */
export function mustSettle(name: string, said: readonly Said[]): boolean {
  const follows = positionNames.indexOf(name) > 0;
  return said.length > 1 && !joinedNames.has(name) && name !== "date" && !follows;
}

/** Return the names about which phones differ. */
export function differing(row: Row): string[] {
  return [...row.said].filter(([name, said]) => mustSettle(name, said)).map(([name]) => name);
}
