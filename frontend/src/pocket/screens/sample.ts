// A sample: how it was taken, and what was counted in it.

import type { App } from "../app";
import { sampleFields } from "../fields";
import { valueOf } from "../gathering";
import { fieldNode, type Target } from "../inputs";
import { missingNode } from "./missing";
import { removeNode } from "./remove";
import { tallyNodes, washedText } from "./tally";

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
