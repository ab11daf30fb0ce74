// The pocket form: one page that records a day's digging with no network and no server.

import "./pocket.css";
import { type App, readStand, writeStand } from "./app";
import { makerFor } from "./dom";
import { valueOf } from "./gathering";
import { readPlan } from "./plan";
import { dayScreen } from "./screens/day";
import { digScreen } from "./screens/dig";
import { handNodes, handoverScreen } from "./screens/handover";
import { homeScreen } from "./screens/home";
import { layerScreen } from "./screens/layer";
import { sampleScreen } from "./screens/sample";
import { setupScreen } from "./screens/setup";
import { readSettings, Shelf } from "./shelf";
import { openStore, type Store } from "./store";
import { words } from "./words";

type Screen = (app: App, names: readonly string[]) => HTMLElement[];

const screens: Record<string, Screen> = {
  home: homeScreen,
  dig: digScreen,
  layer: layerScreen,
  sample: sampleScreen,
  day: dayScreen,
  handover: handoverScreen,
  setup: setupScreen,
};

/** Read what the phone has kept, and note who it is before the first entry. */
async function openShelf(store: Store | null, app: Pick<App, "plan" | "view">): Promise<Shelf> {
  const kept = store ? await store.settings() : {};
  const settings = readSettings(kept, app.plan.measures, app.view.crypto);
  const shelf = new Shelf(store, settings, app.view);
  if (store) shelf.fill(await store.entries());
  if (store && kept["phone"] !== settings.phone) {
    shelf.change("phone", settings.phone);
    shelf.change("batch", settings.batch);
  }
  return shelf;
}

/** The strip that stays in sight: what becomes of entries, and what waits. */
function headNode(app: App, listen: (update: () => void) => void): HTMLElement {
  const { make, plan, shelf } = app;
  const state = make("p", { class: "state", role: "status" });
  const button = make("button", { type: "button", class: "hand", click: () => app.open("handover") });
  listen(() => {
    state.textContent = words[shelf.keeping];
    state.dataset["keeping"] = shelf.keeping;
    const count = shelf.unhanded().length;
    button.textContent = count > 0 ? `${words.handOver} (${count})` : words.handOver;
    button.title = words.unhanded(count);
  });
  const home = make("button", { type: "button", class: "ground", click: () => app.open("home") }, plan.book.name);
  return make("header", {}, make("div", { class: "row" }, home, button), state);
}

function showLook(document: Document, look: string): void {
  if (look === "auto") delete document.documentElement.dataset["light"];
  else document.documentElement.dataset["light"] = look;
}

/** Build the page and open the screen that the address names. */
function start(app: App, updates: Set<() => void>): void {
  const { make, view, shelf } = app;
  const { document } = view;
  const main = make("main", { tabindex: "-1" });
  const always = new Set<() => void>();
  const update = () => {
    for (const one of [...always, ...updates]) one();
  };
  const draw = () => {
    const stand = readStand(view.location.hash);
    updates.clear();
    showLook(document, shelf.settings.look);
    const screen = screens[stand.screen] ?? homeScreen;
    const back = make("button", { type: "button", class: "wide", click: () => app.leave() }, words.done);
    const rescue = make("div", { class: "rescue" }, ...handNodes(app));
    app.live(() => {
      rescue.hidden = shelf.keeping === "kept" || shelf.keeping === "keeping";
    });
    const away = stand.screen !== "home" && stand.screen !== "handover";
    const extra = stand.screen === "handover" ? [] : [rescue];
    main.replaceChildren(...screen(app, stand.names), ...extra, ...(away ? [back] : []));
    update();
  };
  app.redraw = draw;
  document.title = words.title(app.plan.book.name);
  document.body.replaceChildren(headNode(app, (told) => always.add(told)), main);
  shelf.listen(update);
  view.addEventListener("hashchange", () => {
    draw();
    view.scrollTo(0, 0);
    main.focus();
  });
  document.addEventListener("visibilitychange", () => void shelf.refresh());
  draw();
}

/** Return the screen that the open one belongs to. */
function parentOf({ shelf, view }: App): [string, ...string[]] {
  const { screen, names } = readStand(view.location.hash);
  if (screen === "layer") return ["dig", names[0] ?? ""];
  const sample = screen === "sample" && shelf.find("samples", { sample: names[0] ?? "" });
  return sample ? ["dig", valueOf(sample, "dig")] : ["home"];
}

/** Open the form on a page. */
async function openForm(view: Window & typeof globalThis): Promise<void> {
  const plan = readPlan(view.document);
  const store = await openStore(view, plan.book.id);
  const shelf = await openShelf(store, { plan, view });
  const updates = new Set<() => void>();
  const app: App = {
    make: makerFor(view.document),
    plan,
    shelf,
    view,
    open: (screen, ...names) => {
      view.location.hash = writeStand(screen, names);
    },
    leave: () => app.open(...parentOf(app)),
    live: (update) => void updates.add(update),
    redraw: () => {},
  };
  start(app, updates);
}

openForm(window).catch((failed: unknown) => {
  document.body.textContent = `${words.broken} (${String(failed)})`;
});
