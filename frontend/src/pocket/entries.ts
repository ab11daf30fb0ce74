// Entries: what one phone wrote about one thing. Only that phone changes them.

/** Kinds of entries; the names are those of the field log's tables. */
export const kinds = ["digs", "layers", "samples", "tallies", "days"] as const;
export type Kind = (typeof kinds)[number];

export type Cells = Record<string, string>;

/** What one phone wrote about one dig, layer, sample, size class or day. */
export interface Entry {
  id: string;
  kind: Kind;
  revision: number;
  phone: string;
  changed_at: string;
  cells: Cells;
  /** Values of other phones that this entry was written to replace, by name. */
  settles: Record<string, string[]>;
  removed: boolean;
}

/** Names that tell one thing of a kind from another. */
export const keyNames: Record<Kind, readonly string[]> = {
  digs: ["dig"],
  layers: ["dig", "top"],
  samples: ["sample"],
  tallies: ["sample", "class"],
  days: ["date", "by"],
};

/** Draw an id of 128 random bits; works where the page is not in a secure context. */
export function drawId(crypto: Crypto): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Keep, of two versions of one entry, the later one; the first if they tie. */
export function laterOf(one: Entry, other: Entry): Entry {
  return other.revision > one.revision ? other : one;
}
