// What is still missing, kept in sight while a form is filled.

import type { App } from "../app";
import type { Target } from "../inputs";
import { missingOf } from "../missing";

/** A line that says what the book will ask for. */
export function missingNode(app: App, target: Target): HTMLElement {
  const node = app.make("p", { class: "said missing", role: "status" });
  app.live(() => {
    const row = app.shelf.find(target.kind, target.key);
    node.textContent = row ? missingOf(row, app.plan).join(" ") : "";
  });
  return node;
}
