// The fields of each form, in the order in which they are met at the hole.

/** One field of a form. */
export interface Field {
  name: string;
  as: "text" | "long" | "number" | "count" | "choice" | "date";
  /** Unit by the user's measures; none for what has no unit. */
  units?: { metric: string; feet: string };
  choices?: readonly string[];
  /** Whether a word of the user's own may be typed beside the choices. */
  open?: boolean;
  /** Choices that something is told about when they are chosen. */
  told?: readonly string[];
}

const depth = { metric: "m", feet: "ft" };
const stone = { metric: "cm", feet: "in" };

function choice(name: string, ...choices: string[]): Field {
  return { name, as: "choice", choices };
}

function open(name: string, ...choices: string[]): Field {
  return { name, as: "choice", choices, open: true };
}

export const digFields: readonly Field[] = [
  choice("kind", "trench", "pit", "crevice", "moss", "root", "bar", "bank", "bench", "hole"),
  { name: "bottom", as: "number", units: depth },
  open("stopped_by", "bedrock", "clay", "water", "boulder", "limit"),
  { name: "bedrock", as: "text" },
  choice("fabric", "across", "along", "massive"),
  choice("surface", "rough", "fractured", "smooth"),
  { name: "line", as: "text" },
  { name: "landmark", as: "text" },
  { name: "water_level", as: "text" },
  { name: "date", as: "date" },
  { name: "by", as: "text" },
  { name: "photos", as: "text" },
  { name: "note", as: "long" },
];

export const degreeFields: readonly Field[] = [
  { name: "longitude", as: "number" },
  { name: "latitude", as: "number" },
];

export const tapeFields: readonly Field[] = [
  { name: "peg", as: "text" },
  { name: "toward", as: "text" },
  { name: "bearing_deg", as: "number" },
  { name: "along", as: "number", units: depth },
  { name: "across", as: "number", units: depth },
];

export const layerFields: readonly Field[] = [
  { name: "bottom", as: "number", units: depth },
  open("material", "soil", "silt", "sand", "gravel", "boulders", "clay", "rotten bedrock"),
  choice("packing", "loose", "firm", "hard", "cemented", "frozen"),
  choice("matrix", "clean", "sandy", "silty", "clayey"),
  choice("wet", "dry", "damp", "seep", "under_water"),
  choice("worked", "virgin", "worked", "tailings", "unknown"),
  { name: "largest_clast", as: "number", units: stone },
  { name: "oversize_percent", as: "number" },
  open("stain", "none", "brown", "red", "blue", "black", "white"),
  open("base", "gravel", "clay", "bedrock"),
  { name: "note", as: "long" },
];

/** Ways of taking gold without a fair volume of gravel. */
const finds = ["grab", "crevice", "moss", "root", "loam"] as const;

export const sampleFields: readonly Field[] = [
  { name: "top", as: "number", units: depth },
  { name: "bottom", as: "number", units: depth },
  { ...choice("taken", "channel", "bulk", "recut", ...finds), told: finds },
  { name: "pans", as: "count" },
  { name: "volume", as: "number", units: { metric: "l", feet: "gal" } },
  choice("state", "loose", "bank"),
  open("method", "pan", "rocker", "sluice"),
  { name: "weighed", as: "number", units: { metric: "mg", feet: "mg" } },
  { name: "duplicate_of", as: "text" },
  { name: "date", as: "date" },
  { name: "by", as: "text" },
  { name: "note", as: "long" },
];

export const dayFields: readonly Field[] = [
  { name: "hours", as: "number" },
  { name: "dug_hours", as: "number" },
  { name: "weather", as: "text" },
  { name: "water_level", as: "text" },
  { name: "cost", as: "number" },
  { name: "note", as: "long" },
];

/** Weight classes of the trade, heaviest first, and the class of what is not sized. */
export const weightClasses: readonly string[] = ["No.1", "No.2", "No.3"];
export const unsizedClass = "all";

/** Kinds of samples whose volume is fair, so that it must be told. */
export const fairVolume: ReadonlySet<string> = new Set(["channel", "bulk", "recut", ""]);
