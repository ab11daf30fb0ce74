// Counting colors: a big plus and minus for every size class.

import type { App } from "../app";
import { unsizedClass, weightClasses } from "../fields";
import { mustSettle, type Row, valueOf } from "../gathering";
import { differNode } from "../inputs";
import { words } from "../words";

/** Return what was counted in a sample, by class; classes not looked at are left out. */
export function tallyOf(app: App, sample: string): Map<string, number> {
  const counted = new Map<string, number>();
  for (const row of tallyRows(app, sample)) {
    const colors = Number(valueOf(row, "colors"));
    if (valueOf(row, "colors") !== "" && Number.isInteger(colors)) {
      counted.set(valueOf(row, "class"), colors);
    }
  }
  return counted;
}

function tallyRows(app: App, sample: string): Row[] {
  return app.shelf.rows("tallies").filter((row) => valueOf(row, "sample") === sample);
}

/** Say what came of a sample: zero, unknown and not washed yet are three things. */
export function washedText(app: App, sample: string): string {
  const counted = tallyOf(app, sample);
  const row = app.shelf.find("samples", { sample });
  const weighed = valueOf(row, "weighed");
  const colors = [...counted.values()].reduce((sum, one) => sum + one, 0);
  if (colors > 0) return words.colorsSeen(colors);
  if (weighed) return words.weighed;
  return counted.size > 0 ? words.nothingSeen : words.unwashed;
}

/** Say how many samples a dig has. */
export function countSamples(app: App, dig: string): string {
  const rows = app.shelf.rows("samples").filter((row) => valueOf(row, "dig") === dig);
  return rows.map((row) => washedText(app, valueOf(row, "sample"))).join("; ");
}

/** Return the nodes by which a sample's colors are counted. */
export function tallyNodes(app: App, sample: string): HTMLElement[] {
  const { make, plan } = app;
  const groups: [string, readonly string[]][] = [
    [words.sized, plan.classes],
    [words.weightClass, weightClasses],
    [words.unsized, [unsizedClass]],
  ];
  const others = otherClasses(app, sample);
  if (others.length > 0) groups.push(["", others]);
  const none = () => {
    write(app, sample, unsizedClass, "0");
    app.redraw();
  };
  return [
    make("h2", {}, words.tally),
    make("p", { class: "soft" }, words.tallyHint),
    make("button", { type: "button", class: "wide", click: none }, words.noColor),
    ...groups.map(([title, classes]) => groupNode(app, sample, title, classes)),
    make("p", { class: "caution" }, words.mercury),
  ];
}

/** Classes that were counted elsewhere and are none of this form's. */
function otherClasses(app: App, sample: string): string[] {
  const own = new Set([...app.plan.classes, ...weightClasses, unsizedClass]);
  return [...tallyOf(app, sample).keys()].filter((one) => !own.has(one));
}

function groupNode(app: App, sample: string, title: string, classes: readonly string[]): HTMLElement {
  const { make } = app;
  const counted = tallyOf(app, sample);
  const opened = title === words.sized || classes.some((one) => counted.has(one));
  return make(
    "details",
    { class: "tallies", open: opened },
    make("summary", {}, title),
    ...classes.map((one) => counterNode(app, sample, one)),
  );
}

function write(app: App, sample: string, name: string, colors: string): void {
  app.shelf.write("tallies", { sample, class: name }, "colors", colors);
}

function counterNode(app: App, sample: string, name: string): HTMLElement {
  const { make } = app;
  const shown = make("output", { "aria-label": name });
  const show = (colors: number | undefined) => {
    shown.textContent = colors === undefined ? "\u2013" : String(colors);
    shown.title = colors === undefined ? words.notLooked : "";
  };
  const step = (by: number) => () => {
    const before = tallyOf(app, sample).get(name);
    const colors = before === undefined ? Math.max(by, 0) : before + by;
    if (colors > 0 && name !== unsizedClass) clearZero(app, sample);
    write(app, sample, name, colors < 0 ? "" : String(colors));
    show(colors < 0 ? undefined : colors);
  };
  show(tallyOf(app, sample).get(name));
  const row = tallyRows(app, sample).find((one) => valueOf(one, "class") === name);
  const said = row?.said.get("colors") ?? [];
  const target = { kind: "tallies" as const, key: { sample, class: name } };
  return make(
    "div",
    { class: "counter" },
    make("span", { class: "class" }, name),
    make("button", { type: "button", "aria-label": words.fewer(name), click: step(-1) }, "\u2212"),
    shown,
    make("button", { type: "button", "aria-label": words.more(name), click: step(1) }, "+"),
    mustSettle("colors", said) ? differNode(app, target, said) : null,
  );
}

/** A color in one class takes back that there was none at all. */
function clearZero(app: App, sample: string): void {
  if (tallyOf(app, sample).get(unsizedClass) === 0) write(app, sample, unsizedClass, "");
}
