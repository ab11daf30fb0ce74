// The layer, the sample, the day and the settings: forms of fields.

import type { App } from "../app";
import { dayFields, layerFields, sampleFields } from "../fields";
import { valueOf } from "../gathering";
import { fieldNode, type Target } from "../inputs";
import { missingOf } from "../missing";
import { labels, words } from "../words";
import { today } from "./home";
import { removeNode } from "./remove";
import { tallyNodes, washedText } from "./tally";

export function layerScreen(app: App, names: readonly string[]): HTMLElement[] {
  const [dig = "", heading = "top_m", top = ""] = names;
  const target: Target = { kind: "layers", key: { dig, [heading]: top } };
  return [
    app.make("h1", {}, `${dig}: ${top} ${heading.replace("top_", "")}`),
    missingNode(app, target),
    app.make("p", { class: "caution" }, words.wallCaution),
    ...layerFields.map((field) => fieldNode(app, target, field)),
    removeNode(app, app.shelf.find("layers", target.key)),
  ];
}

export function sampleScreen(app: App, names: readonly string[]): HTMLElement[] {
  const { make, shelf } = app;
  const sample = names[0] ?? "";
  const target: Target = { kind: "samples", key: { sample } };
  const state = make("p", { class: "said", role: "status" });
  app.live(() => {
    state.textContent = washedText(app, sample);
  });
  const fields = sampleFields.map((field) => fieldNode(app, target, field));
  return [
    make("h1", {}, sample),
    make("p", { class: "soft" }, valueOf(shelf.find("samples", { sample }), "dig")),
    state,
    missingNode(app, target),
    ...fields.slice(0, 7),
    ...tallyNodes(app, sample),
    ...fields.slice(7),
    removeNode(app, shelf.find("samples", { sample })),
  ];
}

/** A line that says what is still missing, kept up while the form is filled. */
export function missingNode(app: App, target: Target): HTMLElement {
  const node = app.make("p", { class: "said missing", role: "status" });
  app.live(() => {
    const row = app.shelf.find(target.kind, target.key);
    node.textContent = row ? missingOf(row, app.plan).join(" ") : "";
  });
  return node;
}

export function dayScreen(app: App): HTMLElement[] {
  const { by } = app.shelf.settings;
  const key = by ? { date: today(), by } : { date: today() };
  const target: Target = { kind: "days", key };
  return [
    app.make("h1", {}, `${words.dayDone}, ${today()}`),
    ...dayFields.map((field) => fieldNode(app, target, field)),
    removeNode(app, app.shelf.find("days", key)),
  ];
}

export function setupScreen(app: App): HTMLElement[] {
  const { make, shelf, plan } = app;
  const by = make("input", { id: "who", type: "text", value: shelf.settings.by, autocomplete: "off" });
  by.addEventListener("input", () => shelf.change("by", by.value.trim()));
  return [
    make("h1", {}, words.setUp),
    make("div", { class: "field" }, make("label", { for: "who" }, words.who), by),
    tapsNode(app, words.measures, { metric: words.metric, feet: words.feet }, "measures"),
    tapsNode(app, words.look, { auto: words.lookAuto, day: words.lookDay, night: words.lookNight }, "look"),
    make("p", { class: "soft" }, words.about(plan.made_at.slice(0, 10))),
    make("p", { class: "soft" }, `${labels["by"]}: ${words.fromPhone(shelf.settings.phone)}`),
  ];
}

function tapsNode<Name extends "measures" | "look">(
  app: App,
  title: string,
  choices: Record<string, string>,
  name: Name,
): HTMLElement {
  const { make, shelf } = app;
  const taps = Object.entries(choices).map(([value, text]) => {
    const choose = () => {
      shelf.change(name, value as typeof shelf.settings[Name]);
      app.redraw();
    };
    const pressed = String(shelf.settings[name] === value);
    return make("button", { type: "button", class: "tap", "aria-pressed": pressed, click: choose }, text);
  });
  const id = `choose-${name}`;
  return make(
    "div",
    { class: "field" },
    make("p", { class: "label", id }, title),
    make("div", { class: "taps", role: "group", "aria-labelledby": id }, ...taps),
  );
}
