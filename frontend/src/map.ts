// Pictures: pan, zoom and pinch over what the server drew; pick what stands in it.
//
// A picture is magnified as a whole, so that its scale bar stays true; words and marks
// keep their size on the screen, so that more of them comes apart the closer one looks.

import { select } from "d3-selection";
import { zoom, zoomIdentity, type D3ZoomEvent, type ZoomBehavior } from "d3-zoom";

const CLOSEST = 16;
const PICKED = ["proposed", "dig", "streak", "sample"] as const;
const KEPT = "text, [data-dig]:not(text), [data-proposed], [data-merge], [data-drop]";

interface Anchor {
  node: SVGGraphicsElement;
  x: number;
  y: number;
  own: string;
}

/** Make every picture below a node movable, and what it holds pickable. */
export function attachMaps(root: ParentNode): void {
  for (const holder of root.querySelectorAll<HTMLElement>(".picture")) {
    if (holder.dataset["ready"]) continue;
    holder.dataset["ready"] = "yes";
    const svg = holder.querySelector<SVGSVGElement>("svg");
    if (!svg) continue;
    if (holder.dataset["pan"] !== undefined) makeMovable(holder, svg);
    if (holder.dataset["note"]) makePickable(holder, svg, holder.dataset["note"]);
  }
}

/** Where words and marks stand, so that they can be kept at their size. */
function findAnchors(svg: SVGSVGElement): Anchor[] {
  const anchors: Anchor[] = [];
  for (const node of svg.querySelectorAll<SVGGraphicsElement>(KEPT)) {
    if (node.parentElement?.closest("[data-dig], [data-proposed], [data-merge], [data-drop]")) continue;
    const own = node.getAttribute("transform") ?? "";
    if (own) continue;
    const box = node.getBBox();
    const isText = node instanceof SVGTextElement;
    const x = isText ? Number(node.getAttribute("x") ?? box.x) : box.x + box.width / 2;
    const y = isText ? Number(node.getAttribute("y") ?? box.y) : box.y + box.height / 2;
    anchors.push({ node, x, y, own });
  }
  return anchors;
}

function makeMovable(holder: HTMLElement, svg: SVGSVGElement): void {
  // Read as text: the numbers of the live view box are rounded to single precision.
  const [, , width = 1, height = 1] = (svg.getAttribute("viewBox") ?? "").split(" ").map(Number);
  let anchors: Anchor[] | undefined;
  let asked = 0;
  let shown = 1;
  const show = (event: D3ZoomEvent<SVGSVGElement, unknown>): void => {
    const { k, x, y } = event.transform;
    svg.setAttribute("viewBox", `${-x / k} ${-y / k} ${width / k} ${height / k}`);
    holder.dataset["closer"] = k.toFixed(2);
    if (k === shown) return;
    shown = k;
    cancelAnimationFrame(asked);
    asked = requestAnimationFrame(() => {
      anchors ??= findAnchors(svg);
      for (const one of anchors) one.node.setAttribute("transform", keptSize(one, k));
    });
  };
  const behavior = zoom<SVGSVGElement, unknown>()
    .scaleExtent([1, CLOSEST])
    .extent([
      [0, 0],
      [width, height],
    ])
    .translateExtent([
      [0, 0],
      [width, height],
    ])
    .on("zoom", show);
  const picture = select(svg).call(behavior);
  picture.on("dblclick.zoom", null);
  svg.tabIndex = 0;
  svg.addEventListener("keydown", (event) => moveByKey(event, svg, behavior));
  const tools = holder.parentElement?.querySelectorAll<HTMLElement>("[data-zoom]") ?? [];
  for (const tool of tools) {
    tool.addEventListener("click", () => step(svg, behavior, tool.dataset["zoom"] ?? ""));
  }
}

function keptSize(one: Anchor, k: number): string {
  if (k === 1) return "";
  const shrink = 1 / k;
  return `translate(${one.x * (1 - shrink)} ${one.y * (1 - shrink)}) scale(${shrink})`;
}

type Behavior = ZoomBehavior<SVGSVGElement, unknown>;

function step(svg: SVGSVGElement, behavior: Behavior, what: string): void {
  const picture = select(svg);
  if (what === "in") behavior.scaleBy(picture, 1.6);
  if (what === "out") behavior.scaleBy(picture, 1 / 1.6);
  if (what === "all") behavior.transform(picture, zoomIdentity);
}

const STEPS: Record<string, [number, number]> = {
  ArrowLeft: [60, 0],
  ArrowRight: [-60, 0],
  ArrowUp: [0, 60],
  ArrowDown: [0, -60],
};

function moveByKey(event: KeyboardEvent, svg: SVGSVGElement, behavior: Behavior): void {
  const move = STEPS[event.key];
  if (move) behavior.translateBy(select(svg), move[0] / 4, move[1] / 4);
  else if (event.key === "+" || event.key === "=") step(svg, behavior, "in");
  else if (event.key === "-") step(svg, behavior, "out");
  else if (event.key === "0") step(svg, behavior, "all");
  else return;
  event.preventDefault();
}

/** Ask for the note about what is clicked, or chosen by keyboard, in a picture. */
function makePickable(holder: HTMLElement, svg: SVGSVGElement, address: string): void {
  const names = new Set<string>();
  for (const kind of PICKED) {
    for (const node of svg.querySelectorAll<SVGElement>(`[data-${kind}]`)) {
      const name = `${kind} ${node.dataset[kind] ?? ""}`;
      if (names.has(name) || node instanceof SVGTextElement) continue;
      names.add(name);
      node.setAttribute("tabindex", "0");
      node.setAttribute("role", "button");
      node.setAttribute("aria-label", name);
    }
  }
  const pick = (event: Event): void => {
    if (!(event.target instanceof Element)) return;
    for (const kind of PICKED) {
      const node = event.target.closest<SVGElement>(`[data-${kind}]`);
      const name = node?.dataset[kind];
      if (node && name !== undefined) {
        void showNote(holder, svg, noteAddress(holder, address, kind, name), node);
        return;
      }
    }
  };
  // A picture of which single parts can be picked is no longer one image.
  if (names.size > 0) svg.setAttribute("role", "group");
  svg.addEventListener("click", pick);
  svg.addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === " ") {
      if (event.target === svg) return;
      event.preventDefault();
      pick(event);
    }
  });
}

function noteAddress(holder: HTMLElement, address: string, kind: string, name: string): string {
  const more = holder.dataset["with"];
  return `${address}?${kind}=${encodeURIComponent(name)}${more ? `&${more}` : ""}`;
}

async function showNote(
  holder: HTMLElement,
  svg: SVGSVGElement,
  address: string,
  node: Element,
): Promise<void> {
  for (const one of svg.querySelectorAll(".chosen")) one.classList.remove("chosen");
  node.classList.add("chosen");
  const place = holder.parentElement?.querySelector("#note");
  if (!place) return;
  const answer = await fetch(address, { headers: { "HX-Request": "true" } });
  if (!answer.ok) return;
  const parsed = new DOMParser().parseFromString(await answer.text(), "text/html");
  place.replaceChildren(...parsed.body.childNodes);
  place.scrollIntoView({ block: "nearest" });
}
