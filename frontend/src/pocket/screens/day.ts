// The day: hours, weather, water, cost.

import type { App } from "../app";
import { dayFields } from "../fields";
import { fieldNode, type Target } from "../inputs";
import { words } from "../words";
import { today } from "./home";
import { removeNode } from "./remove";

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
