// The file that is handed over: JSON with a version, a count and a check sum.

import { type Cells, type Entry, type Kind, kinds, laterOf } from "./entries";
import { words } from "./words";

/** Version of the file that this form writes, and the newest that it reads. */
export const fileVersion = 1;
const mostEntries = 20_000;
const mostLetters = 2_000;

export interface PocketFile {
  pocket_file: number;
  book: { id: string; name: string };
  plan_made_at: string;
  saved_at: string;
  phone: string;
  count: number;
  check: string;
  entries: Entry[];
}

/** A file that cannot be taken; the text says why and what to do. */
export class FileError extends Error {}

const crcTable = Uint32Array.from({ length: 256 }, (_, byte) => {
  let value = byte;
  for (let bit = 0; bit < 8; bit += 1) {
    value = value & 1 ? 0xedb88320 ^ (value >>> 1) : value >>> 1;
  }
  return value;
});

/** Return the CRC-32 of a text in UTF-8, as eight hexadecimal digits. */
export function crc32(text: string): string {
  let crc = 0xffffffff;
  for (const byte of new TextEncoder().encode(text)) {
    crc = (crcTable[(crc ^ byte) & 0xff] ?? 0) ^ (crc >>> 8);
  }
  return ((crc ^ 0xffffffff) >>> 0).toString(16).padStart(8, "0");
}

function sorted<Value>(map: Record<string, Value>): [string, Value][] {
  return Object.entries(map).sort(([one], [other]) => (one < other ? -1 : 1));
}

/** Return what the check sum is taken over: every word of every entry, in order. */
function sumText(entries: readonly Entry[]): string {
  const lines = entries.map((entry) =>
    [
      entry.id,
      entry.kind,
      entry.revision,
      entry.phone,
      entry.changed_at,
      entry.removed ? 1 : 0,
      ...sorted(entry.cells).map((cell) => cell.join("=")),
      ...sorted(entry.settles).map(([name, texts]) => [name, ...texts].join("~")),
    ].join("\u001f"),
  );
  return lines.join("\n");
}

/** Return the text of the file. */
export function writeFile(
  entries: readonly Entry[],
  about: Pick<PocketFile, "book" | "plan_made_at" | "saved_at" | "phone">,
): string {
  const file: PocketFile = {
    pocket_file: fileVersion,
    ...about,
    count: entries.length,
    check: crc32(sumText(entries)),
    entries: [...entries],
  };
  return `${JSON.stringify(file, null, 1)}\n`;
}

function isText(value: unknown): value is string {
  return typeof value === "string" && value.length <= mostLetters;
}

function isCells(value: unknown): value is Cells {
  return isMap(value) && Object.entries(value).every((cell) => cell.every(isText));
}

function isMap(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function isSettles(value: unknown): value is Record<string, string[]> {
  return isMap(value) && Object.values(value).every((all) => Array.isArray(all) && all.every(isText));
}

function isCount(value: unknown): value is number {
  return Number.isSafeInteger(value) && (value as number) > 0;
}

function readEntry(value: unknown, number: number): Entry {
  const whole =
    isMap(value) &&
    [value["id"], value["phone"], value["changed_at"]].every((one) => isText(one) && one) &&
    kinds.includes(value["kind"] as Kind) &&
    isCount(value["revision"]) &&
    isCells(value["cells"]) &&
    isSettles(value["settles"]) &&
    typeof value["removed"] === "boolean";
  if (!whole) throw new FileError(words.fileEntry(number));
  return value as unknown as Entry;
}

function parse(text: string): Record<string, unknown> {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    throw new FileError(words.fileCut);
  }
  if (!isMap(value) || !isCount(value["pocket_file"])) throw new FileError(words.fileOther);
  if (value["pocket_file"] > fileVersion) throw new FileError(words.fileNewer(value["pocket_file"]));
  return value;
}

/** What a file held. */
export interface FileRead {
  entries: Entry[];
  /** Whether it is as the phone wrote it. */
  untouched: boolean;
}

/** Read the file of another phone. */
export function readFile(text: string, book: { id: string; name: string }): FileRead {
  const value = parse(text);
  const told = value["book"];
  if (!isMap(told) || told["id"] !== book.id) {
    const name = isMap(told) && isText(told["name"]) ? told["name"] : "";
    throw new FileError(words.fileForeign(name, book.name));
  }
  const list = value["entries"];
  if (!Array.isArray(list) || list.length > mostEntries) throw new FileError(words.fileOther);
  const entries = list.map((one, at) => readEntry(one, at + 1));
  const untouched = value["count"] === entries.length && value["check"] === crc32(sumText(entries));
  return { entries, untouched };
}

/** Join entries by id: the later revision stays; a rival of the same one is kept too. */
export function joinEntries(have: ReadonlyMap<string, Entry>, come: readonly Entry[]): Entry[] {
  const joined = new Map(have);
  const changed = new Map<string, Entry>();
  for (const entry of come) {
    const mine = joined.get(entry.id);
    const one = mine && isRival(mine, entry) ? setBeside(entry) : entry;
    const kept = joined.get(one.id);
    if (kept && laterOf(kept, one) === kept) continue;
    joined.set(one.id, one);
    changed.set(one.id, one);
  }
  return [...changed.values()];
}

/** Tell whether a file was edited by hand without a new revision. */
function isRival(mine: Entry, entry: Entry): boolean {
  return mine.revision === entry.revision && sumText([mine]) !== sumText([entry]);
}

/** Give a rival an id of its own, the same one whenever it comes again. */
function setBeside(entry: Entry): Entry {
  const mark = crc32(sumText([entry]));
  return { ...entry, id: `${entry.id}-${mark}`, phone: `${entry.phone} ${words.byHand}` };
}
