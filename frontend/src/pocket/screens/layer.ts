// A layer of a dig.

import type { App } from "../app";
import { layerFields } from "../fields";
import { fieldNode, type Target } from "../inputs";
import { words } from "../words";
import { missingNode } from "./missing";
import { removeNode } from "./remove";

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
