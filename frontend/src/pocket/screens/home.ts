// The first screen: what next, what is there already, and what to mind.

import type { App } from "../app";
import { differing, valueOf } from "../gathering";
import { starterNode } from "../inputs";
import { locate, showLength, tellWay } from "../place";
import type { ProposedDig } from "../plan";
import { words } from "../words";
import { countSamples } from "./tally";

export function homeScreen(app: App): HTMLElement[] {
  const { make } = app;
  return [
    make("h1", {}, words.home),
    cautionsNode(app),
    make("h2", {}, words.proposed),
    ...proposedNodes(app),
    make("h2", {}, words.known),
    newDigNode(app),
    ...digNodes(app),
    make(
      "div",
      { class: "foot" },
      openButton(app, words.dayDone, "day"),
      openButton(app, words.setUp, "setup"),
    ),
  ];
}

function openButton(app: App, text: string, screen: string): HTMLElement {
  return app.make("button", { type: "button", click: () => app.open(screen) }, text);
}

export function cautionsNode(app: App): HTMLElement {
  const { make } = app;
  const items = words.cautionList.map((text) => make("li", {}, text));
  return make(
    "details",
    { class: "cautions" },
    make("summary", {}, words.cautions),
    make("ul", {}, ...items),
  );
}

function proposedNodes(app: App): HTMLElement[] {
  const { make, plan } = app;
  if (plan.proposed.length === 0) return [make("p", { class: "soft" }, words.proposedNone)];
  return plan.proposed.map((dig) => proposedNode(app, dig));
}

function proposedNode(app: App, dig: ProposedDig): HTMLElement {
  const { make, shelf } = app;
  const facts = [
    dig.line,
    words.depthTo(showLength(dig.depth_m, shelf.settings.measures)),
    words.pans(dig.pans),
    words.hours(dig.hours),
  ];
  const way = make("p", { class: "said", role: "status" });
  return make(
    "section",
    { class: "card" },
    make("h3", {}, `${dig.dig} `, make("span", { class: "soft" }, dig.kind)),
    make("p", {}, facts.filter(Boolean).join(", ")),
    make("p", { class: "soft" }, dig.why),
    way,
    make(
      "div",
      { class: "row" },
      make("button", { type: "button", click: () => startProposed(app, dig) }, `${words.start} ${dig.dig}`),
      dig.longitude === null
        ? null
        : make("button", { type: "button", class: "quiet", click: () => showWay(app, dig, way) }, words.whereTo),
    ),
  );
}

async function showWay(app: App, dig: ProposedDig, into: HTMLElement): Promise<void> {
  if (dig.longitude === null || dig.latitude === null) return;
  into.textContent = words.locating;
  try {
    const here = await locate(app.view);
    const to = { longitude: dig.longitude, latitude: dig.latitude };
    into.textContent = tellWay(here, to, app.shelf.settings.measures);
  } catch (failed) {
    into.textContent = (failed as Error).message;
  }
}

/** Today, as the phone's own clock and calendar have it. */
export function today(): string {
  const now = new Date();
  const two = (number: number) => String(number).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/** The date and the writer, for whatever is begun. */
export function signed(app: App): Record<string, string> {
  const { by } = app.shelf.settings;
  return by ? { date: today(), by } : { date: today() };
}

function startProposed(app: App, dig: ProposedDig): void {
  const cells: Record<string, string> = { dig: dig.dig, kind: dig.kind, ...signed(app) };
  if (dig.line) cells["line"] = dig.line;
  if (!app.shelf.find("digs", { dig: dig.dig })) app.shelf.add("digs", cells);
  app.open("dig", dig.dig);
}

function newDigNode(app: App): HTMLElement {
  const about = { label: words.digName, value: "", action: words.newDig };
  return starterNode(app, about, (name, say) => {
    if (!name) return say(words.digNeedsName);
    const known = app.plan.digs.some((dig) => dig.dig === name);
    if (!known && !app.shelf.find("digs", { dig: name })) {
      app.shelf.add("digs", { dig: name, ...signed(app) });
    }
    app.open("dig", name);
  });
}

function digNodes(app: App): HTMLElement[] {
  const { make, plan, shelf } = app;
  const written = shelf.rows("digs");
  const names = new Set([...written.map((row) => valueOf(row, "dig")), ...plan.digs.map((dig) => dig.dig)]);
  if (names.size === 0) return [make("p", { class: "soft" }, words.knownNone)];
  return [...names].map((name) => {
    const row = written.find((one) => valueOf(one, "dig") === name);
    const facts = [countSamples(app, name), row && differing(row).length > 0 ? words.differs : ""];
    return make(
      "button",
      { type: "button", class: "line", click: () => app.open("dig", name) },
      make("b", {}, name),
      make("span", { class: "soft" }, facts.filter(Boolean).join(", ")),
    );
  });
}
