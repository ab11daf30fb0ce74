// All entries of this phone: in memory at once, in the store as soon as it takes them.

import { type Cells, drawId, type Entry, type Kind } from "./entries";
import { joinEntries } from "./file";
import { gather, keyOf, type Row, settledText } from "./gathering";
import { type Measures, splitHeading } from "./quantities";
import { drawBatch } from "./shortids";
import type { Store } from "./store";

/** What becomes of entries. */
export type Keeping = "kept" | "keeping" | "notKept" | "full" | "twoPages";

export interface Settings {
  phone: string;
  batch: string;
  by: string;
  measures: Measures;
  look: "auto" | "day" | "night";
  handed: Record<string, number>;
}

export class Shelf {
  keeping: Keeping;
  private readonly entries = new Map<string, Entry>();
  /** What the entries tell, by key; worked out when first asked after a change. */
  private gathered: Map<string, Row> | null = null;
  private readonly listeners: (() => void)[] = [];
  private readonly unkept = new Map<string, Entry>();
  private writes: Promise<void> = Promise.resolve();
  private waiting = 0;

  constructor(
    private readonly store: Store | null,
    readonly settings: Settings,
    private readonly view: Window & typeof globalThis,
  ) {
    this.keeping = store ? "kept" : "notKept";
    store?.whenOutdated(() => this.turn("twoPages"));
  }

  /** Be told whenever an entry or its keeping changes. */
  listen(told: () => void): void {
    this.listeners.push(told);
  }

  all(): Entry[] {
    return [...this.entries.values()];
  }

  rows(kind?: Kind): Row[] {
    return [...this.byKey().values()].filter((row) => !kind || row.kind === kind);
  }

  find(kind: Kind, cells: Cells): Row | undefined {
    return this.byKey().get(keyOf(kind, cells));
  }

  private byKey(): ReadonlyMap<string, Row> {
    this.gathered ??= new Map(gather(this.entries.values()).map((row) => [row.key, row]));
    return this.gathered;
  }

  unhanded(): Entry[] {
    return this.all().filter((entry) => (this.settings.handed[entry.id] ?? 0) < entry.revision);
  }

  markHanded(entries: readonly Entry[]): void {
    const handed = Object.fromEntries(entries.map(({ id, revision }) => [id, revision]));
    this.change("handed", { ...this.settings.handed, ...handed });
  }

  /** Write one cell of one thing, into this phone's own entry about it. */
  write(kind: Kind, key: Cells, heading: string, text: string): void {
    const row = this.find(kind, key);
    const mine = row?.entries.find((entry) => entry.phone === this.settings.phone);
    const entry = structuredClone(mine ?? this.newEntry(kind, key));
    const { name } = splitHeading(heading);
    this.settle(entry, name, row);
    if (text.trim() || entry.settles[name]) entry.cells[heading] = text;
    else delete entry.cells[heading];
    this.put(this.revised(entry));
  }

  /** Make an entry that says only what thing it is about. */
  add(kind: Kind, cells: Cells): void {
    this.put(this.newEntry(kind, cells));
  }

  /** Take a thing away, as far as this phone wrote it. */
  remove(row: Row): void {
    for (const entry of row.entries) {
      if (entry.phone !== this.settings.phone) continue;
      this.put(this.revised({ ...structuredClone(entry), removed: true }));
    }
  }

  isMine(row: Row): boolean {
    return row.entries.every((entry) => entry.phone === this.settings.phone);
  }

  /** Take in entries of another phone; return how many were new. */
  takeIn(come: readonly Entry[]): number {
    const changed = this.join(come);
    if (changed.length > 0) this.keep(changed);
    return changed.length;
  }

  /** Bring in what is in the store already. */
  fill(entries: readonly Entry[]): void {
    this.join(entries);
  }

  private join(come: readonly Entry[]): Entry[] {
    const changed = joinEntries(this.entries, come);
    for (const entry of changed) this.entries.set(entry.id, entry);
    this.gathered = null;
    return changed;
  }

  /** Look into the store again: another page may have written there. */
  async refresh(): Promise<void> {
    if (this.store && this.keeping === "kept") this.fill(await this.store.entries());
  }

  change<Name extends keyof Settings>(name: Name, value: Settings[Name]): void {
    this.settings[name] = value;
    this.queue((store) => store.set(name, value));
  }

  private newEntry(kind: Kind, cells: Cells): Entry {
    return {
      id: drawId(this.view.crypto),
      kind,
      revision: 1,
      phone: this.settings.phone,
      changed_at: new Date().toISOString(),
      cells: { ...cells },
      settles: {},
      removed: false,
    };
  }

  private revised(entry: Entry): Entry {
    const known = this.entries.get(entry.id);
    const revision = known ? known.revision + 1 : entry.revision;
    return { ...entry, revision, changed_at: new Date().toISOString() };
  }

  /** Note what other phones say, and drop what this one said in another unit. */
  private settle(entry: Entry, name: string, row: Row | undefined): void {
    const others = (row?.entries ?? []).filter((one) => one.phone !== entry.phone);
    const texts = new Set(entry.settles[name] ?? []);
    for (const other of others) {
      for (const [heading, text] of Object.entries(other.cells)) {
        if (splitHeading(heading).name !== name) continue;
        texts.add(settledText({ heading, text, phone: other.phone }));
      }
    }
    if (texts.size > 0) entry.settles[name] = [...texts].sort();
    for (const heading of Object.keys(entry.cells)) {
      if (splitHeading(heading).name === name) delete entry.cells[heading];
    }
  }

  private put(entry: Entry): void {
    const before = this.entries.get(entry.id);
    this.entries.set(entry.id, entry);
    this.gatherAgain(before ? [before, entry] : [entry], entry);
    this.keep([entry]);
  }

  /** Lay together anew only what an entry was about, and is about now. */
  private gatherAgain(versions: readonly Entry[], now: Entry): void {
    const keys = new Set(versions.map(({ kind, cells }) => keyOf(kind, cells)));
    for (const key of keys) {
      const others = this.gathered?.get(key)?.entries.filter(({ id }) => id !== now.id) ?? [];
      const row = gather([...others, now]).find((one) => one.key === key);
      if (row) this.gathered?.set(key, row);
      else this.gathered?.delete(key);
    }
  }

  private keep(entries: readonly Entry[]): void {
    for (const entry of entries) this.unkept.set(entry.id, entry);
    this.queue((store) => this.keepAll(store));
  }

  /** Keep what is not kept yet, also what the store would not take before. */
  private async keepAll(store: Store): Promise<void> {
    const entries = [...this.unkept.values()];
    await store.keep(entries);
    for (const entry of entries) {
      if (this.unkept.get(entry.id) === entry) this.unkept.delete(entry.id);
    }
  }

  /** Let writes follow one another, and tell when the last has reached the disk. */
  private queue(work: (store: Store) => Promise<void>): void {
    const { store } = this;
    if (!store || this.keeping === "twoPages") return this.tell();
    this.waiting += 1;
    if (this.keeping === "kept") this.turn("keeping");
    this.writes = this.writes.then(() => work(store)).then(
      () => this.written("kept"),
      () => this.written("full"),
    );
  }

  private written(outcome: Keeping): void {
    this.waiting -= 1;
    if (this.keeping === "twoPages") return;
    if (outcome === "full" || this.waiting === 0) this.turn(outcome);
  }

  private turn(keeping: Keeping): void {
    this.keeping = keeping;
    this.tell();
  }

  private tell(): void {
    for (const told of this.listeners) told();
  }
}

/** Return the settings of this phone; what is not kept yet is drawn or taken over. */
export function readSettings(
  kept: Record<string, unknown>,
  measures: Measures,
  crypto: Crypto,
): Settings {
  const drawn: Settings = {
    phone: drawId(crypto).slice(0, 8),
    batch: drawBatch(crypto.getRandomValues(new Uint8Array(3))),
    by: "",
    measures,
    look: "auto",
    handed: {},
  };
  return { ...drawn, ...kept };
}
