// Cells under headings with units: "bottom_ft" is the quantity "bottom" in feet.

export type Measures = "metric" | "feet";

/** What one unit is of the inside unit of its quantity. */
const units: Record<string, Record<string, number>> = {
  length: { m: 1, cm: 0.01, mm: 0.001, ft: 0.3048, in: 0.0254 },
  volume: { m3: 1, l: 0.001, ft3: 0.028316846592, gal: 0.003785411784 },
  mass: { mg: 1, g: 1000, grain: 64.79891 },
};

/** Measured names and what they measure; every other heading has no unit. */
const measured: Record<string, string> = {
  along: "length",
  across: "length",
  elevation: "length",
  bottom: "length",
  top: "length",
  largest_clast: "length",
  screen: "length",
  volume: "volume",
  oversize: "volume",
  boulders_left_out: "volume",
  pan_volume: "volume",
  weighed: "mass",
  balance: "mass",
};

/** A heading taken apart; `unit` is empty where there is none. */
export interface Heading {
  name: string;
  unit: string;
}

/** Take a heading apart into name and unit. */
export function splitHeading(heading: string): Heading {
  const at = heading.lastIndexOf("_");
  const name = heading.slice(0, at);
  const unit = heading.slice(at + 1);
  const known = units[measured[name] ?? ""] ?? {};
  return unit in known ? { name, unit } : { name: heading, unit: "" };
}

/** Return the number that a text means; a comma is a decimal mark; null if none. */
export function readNumber(text: string): number | null {
  const plain = text.trim().replace(",", ".");
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
}

/** Return a cell's value in the inside unit of its quantity; null if no number. */
export function insideValue(heading: string, text: string): number | null {
  const { name, unit } = splitHeading(heading);
  const value = readNumber(text);
  const factor = units[measured[name] ?? ""]?.[unit];
  return value === null || factor === undefined ? null : value * factor;
}

/** Tell whether two cells of one name say the same, whatever their units. */
export function saySame(one: readonly [string, string], other: readonly [string, string]) {
  if (one[0] === other[0] && one[1].trim() === other[1].trim()) return true;
  const first = insideValue(...one);
  const second = insideValue(...other);
  if (first === null || second === null) return false;
  return Math.abs(first - second) <= 0.0005 * Math.max(1, Math.abs(first));
}

/** Show a cell for a person: "3.5 ft". */
export function showCell(heading: string, text: string): string {
  const { unit } = splitHeading(heading);
  return unit ? `${text} ${unit.replace(/3$/, "\u00b3")}` : text;
}
