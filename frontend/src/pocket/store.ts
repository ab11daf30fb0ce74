// The phone's own store, one for each book, with one numbered upgrade.

import type { Entry } from "./entries";

const storeVersion = 1;

/** A place that keeps entries and settings. */
export interface Store {
  entries(): Promise<Entry[]>;
  settings(): Promise<Record<string, unknown>>;
  keep(entries: readonly Entry[]): Promise<void>;
  set(name: string, value: unknown): Promise<void>;
  /** Told when a newer page of this form wants the store. */
  whenOutdated(told: () => void): void;
}

/** Bring the store from an older version to this one. */
function upgrade(database: IDBDatabase, oldVersion: number): void {
  if (oldVersion < 1) {
    database.createObjectStore("entries", { keyPath: "id" });
    database.createObjectStore("settings", { keyPath: "name" });
  }
}

function settled<Value>(request: IDBRequest<Value>): Promise<Value> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function openDatabase(factory: IDBFactory, name: string): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = factory.open(name, storeVersion);
    request.onupgradeneeded = (event) => upgrade(request.result, event.oldVersion);
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new Error("store is blocked by an older page"));
  });
}

/** Write, and wait until the phone says that it is on its disk. */
function write(database: IDBDatabase, into: string, values: readonly unknown[]): Promise<void> {
  return new Promise((resolve, reject) => {
    const writing = database.transaction(into, "readwrite", { durability: "strict" });
    writing.oncomplete = () => resolve();
    writing.onabort = () => reject(writing.error ?? new Error(`write aborted: ${into}`));
    const store = writing.objectStore(into);
    for (const value of values) store.put(value);
  });
}

function storeOn(database: IDBDatabase): Store {
  const all = <Value>(from: string): Promise<Value[]> =>
    settled(database.transaction(from).objectStore(from).getAll());
  return {
    entries: () => all<Entry>("entries"),
    settings: async () => {
      const kept = await all<{ name: string; value: unknown }>("settings");
      return Object.fromEntries(kept.map(({ name, value }) => [name, value]));
    },
    keep: (entries) => write(database, "entries", entries),
    set: (name, value) => write(database, "settings", [{ name, value }]),
    whenOutdated: (told) => {
      database.onversionchange = () => {
        database.close();
        told();
      };
    },
  };
}

/** Open the store and try it out; null where the phone keeps nothing. */
export async function openStore(view: Window, bookId: string): Promise<Store | null> {
  try {
    const database = await openDatabase(view.indexedDB, `pennyweight-pocket-${bookId}`);
    const store = storeOn(database);
    const trial = Date.now();
    await store.set("trial", trial);
    return (await store.settings())["trial"] === trial ? store : null;
  } catch {
    return null;
  }
}
