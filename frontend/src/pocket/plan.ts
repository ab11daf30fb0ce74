// What the form carries along: the ground's name, its digs, tomorrow's digs.

/** A dig of the book, with its cells as the field log heads them. */
export interface KnownDig {
  dig: string;
  line: string;
  longitude: number | null;
  latitude: number | null;
  cells: Record<string, string>;
}

/** A dig that the book proposes. */
export interface ProposedDig {
  dig: string;
  line: string;
  kind: string;
  longitude: number | null;
  latitude: number | null;
  depth_m: number;
  pans: number;
  hours: number;
  why: string;
}

/** Everything written into the file when it was made. */
export interface Plan {
  pocket_plan: number;
  book: { id: string; name: string };
  made_at: string;
  measures: "metric" | "feet";
  classes: string[];
  digs: KnownDig[];
  lines: string[];
  proposed: ProposedDig[];
}

/** Read the plan that the file carries. */
export function readPlan(document: Document): Plan {
  const carried = document.getElementById("plan")?.textContent ?? "";
  const plan = JSON.parse(carried) as Plan;
  if (plan.pocket_plan !== 1) throw new Error(`unknown plan: ${plan.pocket_plan}`);
  return plan;
}
