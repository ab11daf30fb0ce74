// What the book will ask for: better seen at the hole than at camp.

import { fairVolume } from "./fields";
import { type Row, valueOf } from "./gathering";
import type { Plan } from "./plan";
import { insideValue } from "./quantities";
import { words } from "./words";

/** Return what is still missing before the book can take a thing. */
export function missingOf(row: Row, plan: Plan): string[] {
  if (row.kind === "digs") return missingOfDig(row, plan);
  if (row.kind === "layers") {
    return valueOf(row, "bottom") ? upsideDown(row) : [words.bottomNeeded];
  }
  if (row.kind === "samples") return missingOfSample(row);
  return [];
}

function missingOfDig(row: Row, plan: Plan): string[] {
  const has = (name: string) => valueOf(row, name) !== "";
  const known = plan.digs.some(({ dig }) => dig === valueOf(row, "dig"));
  const degrees = has("longitude") && has("latitude");
  const tape = has("peg") && has("along") && (has("toward") || has("bearing_deg"));
  return known || degrees || tape ? [] : [words.placeNeeded];
}

function missingOfSample(row: Row): string[] {
  const has = (name: string) => valueOf(row, name) !== "";
  const lacking = [];
  if (fairVolume.has(valueOf(row, "taken"))) {
    if (!has("top") || !has("bottom")) lacking.push(words.depthNeeded);
    if (!has("volume") && !has("pans")) lacking.push(words.volumeNeeded);
  }
  if (has("volume") && !has("state")) lacking.push(words.stateNeeded);
  return [...lacking, ...upsideDown(row)];
}

/** Depths are measured down from the surface: the bottom is the larger one. */
function upsideDown(row: Row): string[] {
  const [top, bottom] = ["top", "bottom"].map((name) => {
    const said = row.said.get(name)?.[0];
    return said ? insideValue(said.heading, said.text) : null;
  });
  const wrong = top != null && bottom != null && bottom <= top;
  return wrong ? [words.upsideDown] : [];
}
