// Who writes, in which units, by which light.

import type { App } from "../app";
import { labels, words } from "../words";

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
