// A dig: where it is, how deep, its layers and its samples.

import type { App } from "../app";
import type { Cells } from "../entries";
import { degreeFields, digFields, type Field, tapeFields } from "../fields";
import { type Row, valueOf } from "../gathering";
import { fieldNode, headingOf, starterNode, type Target, writeCell } from "../inputs";
import { locate, showLength } from "../place";
import { insideValue, readNumber, showCell, splitHeading } from "../quantities";
import { nextBagId, readBagId } from "../shortids";
import { words } from "../words";
import { signed } from "./home";
import { missingNode } from "./missing";
import { removeNode } from "./remove";
import { washedText } from "./tally";

export function digScreen(app: App, names: readonly string[]): HTMLElement[] {
  const { make, plan, shelf } = app;
  const dig = names[0] ?? "";
  const known = plan.digs.find((one) => one.dig === dig)?.cells;
  const target: Target = { kind: "digs", key: { dig }, ...(known ? { known } : {}) };
  const nodes = (fields: readonly Field[]) => fields.map((field) => fieldNode(app, target, field));
  return [
    make("h1", {}, dig),
    missingNode(app, target),
    ...nodes(digFields.slice(0, 1)),
    whereNode(app, target, nodes),
    make("p", { class: "caution" }, words.wallCaution),
    ...nodes(digFields.slice(1, 3)),
    ...layerNodes(app, dig),
    ...sampleNodes(app, dig),
    ...nodes(digFields.slice(3)),
    removeNode(app, shelf.find("digs", { dig })),
  ];
}

function whereNode(
  app: App,
  target: Target,
  nodes: (fields: readonly Field[]) => HTMLElement[],
): HTMLElement {
  const { make } = app;
  const said = make("p", { class: "said", role: "status" });
  const typed = make("div", {});
  const fill = () => typed.replaceChildren(...nodes(degreeFields));
  const here = () => takePosition(app, target, said).then(fill);
  fill();
  return make(
    "section",
    { class: "card" },
    make("h2", {}, words.where),
    make("button", { type: "button", class: "wide", click: here }, words.useHere),
    said,
    make("details", {}, make("summary", {}, words.degrees), typed),
    make("details", {}, make("summary", {}, words.tape), ...nodes(tapeFields)),
  );
}

async function takePosition(app: App, target: Target, said: HTMLElement): Promise<void> {
  said.textContent = words.locating;
  try {
    const here = await locate(app.view);
    writeCell(app, target, "longitude", here.longitude.toFixed(7));
    writeCell(app, target, "latitude", here.latitude.toFixed(7));
    writeCell(app, target, "position_error_m", here.accuracy.toFixed(1));
    said.textContent = words.located(showLength(here.accuracy, app.shelf.settings.measures));
  } catch (failed) {
    said.textContent = (failed as Error).message;
  }
}

/** Layers of a dig from the top down. */
function layersOf(app: App, dig: string): Row[] {
  const depth = (row: Row) => {
    const top = row.said.get("top")?.[0];
    return top ? (insideValue(top.heading, top.text) ?? 0) : 0;
  };
  const own = app.shelf.rows("layers").filter((row) => valueOf(row, "dig") === dig);
  return own.sort((one, other) => depth(one) - depth(other));
}

function depthText(row: Row): string {
  const shown = ["top", "bottom"].map((name) => {
    const said = row.said.get(name)?.[0];
    return said ? showCell(said.heading, said.text) : "?";
  });
  return shown.every((one) => one === "?") ? "" : shown.join(" \u2013 ");
}

function layerNodes(app: App, dig: string): HTMLElement[] {
  const { make } = app;
  const layers = layersOf(app, dig);
  const heading = headingOf(app, { name: "top", as: "number", units: { metric: "m", feet: "ft" } }, []);
  const last = layers.at(-1)?.said.get("bottom")?.[0];
  const top = layers.length === 0 ? "0" : last?.heading === heading.replace("top", "bottom") ? last.text : "";
  const label = words.layerTop(splitHeading(heading).unit);
  return [
    make("h2", {}, words.layers),
    ...(layers.length === 0 ? [make("p", { class: "soft" }, words.layersNone)] : []),
    ...layers.map((row) => layerLine(app, row)),
    starterNode(app, { label, value: top, action: words.addLayer, numeric: true }, (text, say) => {
      if (readNumber(text) === null) return say(words.noNumber);
      const key: Cells = { dig, [heading]: text.replace(",", ".") };
      if (!app.shelf.find("layers", key)) app.shelf.add("layers", key);
      app.open("layer", dig, heading, text.replace(",", "."));
    }),
  ];
}

function layerLine(app: App, row: Row): HTMLElement {
  const { make } = app;
  const top = row.said.get("top")?.[0];
  const open = () => app.open("layer", valueOf(row, "dig"), top?.heading ?? "", top?.text ?? "");
  const about = [valueOf(row, "material"), valueOf(row, "packing")].filter(Boolean).join(", ");
  return make(
    "button",
    { type: "button", class: "line", click: open },
    make("b", {}, depthText(row)),
    make("span", { class: "soft" }, about),
  );
}

function sampleNodes(app: App, dig: string): HTMLElement[] {
  const { make, shelf } = app;
  const samples = shelf.rows("samples");
  const own = samples.filter((row) => valueOf(row, "dig") === dig);
  const taken = new Set(samples.map((row) => valueOf(row, "sample")));
  const value = nextBagId(shelf.settings.batch, taken);
  return [
    make("h2", {}, words.samples),
    ...(own.length === 0 ? [make("p", { class: "soft" }, words.samplesNone)] : []),
    ...own.map((row) => sampleLine(app, row)),
    starterNode(app, { label: words.bag, value, action: words.addSample }, (text, say) => {
      if (!text) return say(words.bagNeeded);
      const read = readBagId(text);
      if (read.wanted) return say(words.bagWrong(read.wanted));
      const sample = read.id ?? text;
      if (!taken.has(sample)) {
        shelf.add("samples", { sample, dig, taken: "channel", ...signed(app) });
      }
      app.open("sample", sample);
    }),
  ];
}

function sampleLine(app: App, row: Row): HTMLElement {
  const { make } = app;
  const sample = valueOf(row, "sample");
  const about = [depthText(row), washedText(app, sample)].filter(Boolean).join(", ");
  return make(
    "button",
    { type: "button", class: "line", click: () => app.open("sample", sample) },
    make("b", {}, sample),
    make("span", { class: "soft" }, about),
  );
}
