// Taking something away that this phone wrote, after asking.

import type { App } from "../app";
import type { Row } from "../gathering";
import { words } from "../words";

/** A button that asks before it removes; nothing where another phone wrote too. */
export function removeNode(app: App, row: Row | undefined): HTMLElement {
  const { make, shelf } = app;
  const node = make("div", { class: "remove" });
  if (!row || !shelf.isMine(row)) return node;
  const ask = () => {
    const sure = () => {
      app.leave();
      shelf.remove(row);
    };
    node.replaceChildren(
      make("p", { role: "status" }, words.removeSure),
      make("div", { class: "row" }, button(app, words.yes, sure), button(app, words.no, draw)),
    );
  };
  const draw = () => node.replaceChildren(button(app, words.remove, ask));
  draw();
  return node;
}

function button(app: App, text: string, click: () => void): HTMLElement {
  return app.make("button", { type: "button", class: "quiet", click }, text);
}
