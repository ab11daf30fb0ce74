// Drawing on the map: points by click or typed, dragged, measured; where the pointer is.
//
// The list of points in the form is the one truth: a click writes a line into it, and
// what is seen on the map is read from it, so that hand and keyboard do the same.

const SVG = "http://www.w3.org/2000/svg";

interface Place {
  east: number;
  north: number;
}

/** The map's own grid, and degrees drawn straight between its corners. */
interface Grid {
  west: number;
  north: number;
  pxPerM: number;
  width: number;
  height: number;
  crs: string;
  corners: [number, number][];
}

/** Show where the pointer is on every map below a node, and let the one be drawn on. */
export function attachDrawing(root: ParentNode): void {
  for (const holder of root.querySelectorAll<HTMLElement>(".picture")) {
    const svg = holder.querySelector<SVGSVGElement>("svg");
    const grid = svg && readGrid(svg);
    if (!svg || !grid || holder.dataset["grid"]) continue;
    holder.dataset["grid"] = "yes";
    showPointer(holder, svg, grid);
    const form = document.querySelector<HTMLFormElement>("#sketch");
    if (form && holder.dataset["draw"] !== undefined) makeDrawable(svg, grid, form);
  }
}

function readGrid(svg: SVGSVGElement): Grid | undefined {
  const data = svg.querySelector<SVGGElement>("[data-px-per-m]")?.dataset;
  if (!data) return undefined;
  const [width = 1, height = 1] = (data["sizePx"] ?? "").split(" ").map(Number);
  const corners = (data["corners"] ?? "").split(" ").filter(Boolean);
  return {
    west: Number(data["westM"]),
    north: Number(data["northM"]),
    pxPerM: Number(data["pxPerM"]),
    width,
    height,
    crs: data["crs"] ?? "",
    corners: corners.map((one) => one.split(",").map(Number) as [number, number]),
  };
}

function placeAt(svg: SVGSVGElement, grid: Grid, event: MouseEvent): Place | undefined {
  const matrix = svg.getScreenCTM();
  if (!matrix) return undefined;
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
  if (at.x < 0 || at.y < 0 || at.x > grid.width || at.y > grid.height) return undefined;
  return { east: grid.west + at.x / grid.pxPerM, north: grid.north - at.y / grid.pxPerM };
}

function pixelOf(grid: Grid, place: Place): [number, number] {
  return [(place.east - grid.west) * grid.pxPerM, (grid.north - place.north) * grid.pxPerM];
}

/** Degrees of a place, straight between the corners of the map. */
function degreesOf(grid: Grid, place: Place): [number, number] | undefined {
  const [nw, ne, se, sw] = grid.corners;
  if (!nw || !ne || !se || !sw) return undefined;
  const [x, y] = pixelOf(grid, place);
  const u = x / grid.width;
  const v = y / grid.height;
  const between = (axis: 0 | 1): number =>
    (1 - v) * ((1 - u) * nw[axis] + u * ne[axis]) + v * ((1 - u) * sw[axis] + u * se[axis]);
  return [between(0), between(1)];
}

/** The place of degrees: the corners' straight lines the other way, in a few steps. */
function placeOfDegrees(grid: Grid, longitude: number, latitude: number): Place | undefined {
  const [nw, ne, , sw] = grid.corners;
  if (!nw || !ne || !sw) return undefined;
  const wide = grid.width / grid.pxPerM;
  const high = grid.height / grid.pxPerM;
  const place = { east: grid.west + wide / 2, north: grid.north - high / 2 };
  const east = [(ne[0] - nw[0]) / wide, (ne[1] - nw[1]) / wide] as const;
  const south = [(sw[0] - nw[0]) / high, (sw[1] - nw[1]) / high] as const;
  const area = east[0] * south[1] - east[1] * south[0];
  for (let turn = 0; turn < 4; turn += 1) {
    const [x, y] = degreesOf(grid, place) ?? [0, 0];
    const [dx, dy] = [longitude - x, latitude - y];
    place.east += (dx * south[1] - dy * south[0]) / area;
    place.north -= (dy * east[0] - dx * east[1]) / area;
  }
  return place;
}

function showPointer(holder: HTMLElement, svg: SVGSVGElement, grid: Grid): void {
  const line = document.createElement("p");
  line.className = "pointer soft";
  line.textContent = "\u00a0";
  holder.after(line);
  svg.addEventListener("pointermove", (event) => {
    const place = placeAt(svg, grid, event);
    line.textContent = place ? wordsOf(grid, place) : "\u00a0";
  });
  svg.addEventListener("pointerleave", () => (line.textContent = "\u00a0"));
}

function wordsOf(grid: Grid, place: Place): string {
  const meters = `${place.east.toFixed(1)} E, ${place.north.toFixed(1)} N`;
  const degrees = degreesOf(grid, place);
  if (!degrees) return meters;
  return `${meters} (${grid.crs}) · ${degrees[1].toFixed(6)}, ${degrees[0].toFixed(6)}`;
}

/** Read the list of points; undefined where a line is none that the map can show. */
export function readPlaces(text: string, grid: Grid): (Place | undefined)[] {
  const lines = text.split("\n").filter((line) => line.trim());
  return lines.map((line) => {
    const parts = line.trim().split(/[,;\s]+/).filter(Boolean);
    const [one = NaN, other = NaN] = parts.map(Number);
    if (parts.length !== 2 || Number.isNaN(one) || Number.isNaN(other)) return undefined;
    if (Math.abs(one) <= 180 && Math.abs(other) <= 90) return placeOfDegrees(grid, one, other);
    return { east: one, north: other };
  });
}

function makeDrawable(svg: SVGSVGElement, grid: Grid, form: HTMLFormElement): void {
  const points = form.querySelector<HTMLTextAreaElement>("#points");
  const role = form.querySelector<HTMLSelectElement>("#role");
  if (!points || !role) return;
  const layer = document.createElementNS(SVG, "g");
  layer.setAttribute("class", "sketch");
  layer.setAttribute("aria-hidden", "true");
  svg.append(layer);
  const lines = (): string[] => points.value.split("\n").filter((line) => line.trim());
  const shape = (): string => role.selectedOptions[0]?.dataset["shape"] ?? "line";
  const write = (rows: string[]): void => {
    points.value = rows.join("\n");
    show();
  };
  const typed = (place: Place): string => `${place.east.toFixed(2)}, ${place.north.toFixed(2)}`;
  const show = (): void => {
    drawSketch(layer, svg, grid, readPlaces(points.value, grid), shape());
    measure(form, readPlaces(points.value, grid), shape());
  };
  const move = (at: number, place: Place): void => {
    write(lines().map((line, number) => (number === at ? typed(place) : line)));
  };
  svg.addEventListener("click", (event) => {
    const place = placeAt(svg, grid, event);
    if (!place || (event.target instanceof Element && event.target.closest(".handle"))) return;
    write(shape() === "point" ? [typed(place)] : [...lines(), typed(place)]);
  });
  makeHandlesMovable(layer, svg, grid, move);
  points.addEventListener("input", show);
  role.addEventListener("change", () => {
    const hint = form.querySelector("#role-hint");
    if (hint) hint.textContent = role.selectedOptions[0]?.dataset["hint"] ?? "";
    show();
  });
  const buttons: Record<string, () => void> = {
    back: () => write(lines().slice(0, -1)),
    clear: () => write([]),
  };
  for (const [name, act] of Object.entries(buttons)) {
    const button = form.querySelector<HTMLButtonElement>(`[data-sketch="${name}"]`);
    if (!button) continue;
    button.hidden = false;
    button.addEventListener("click", act);
  }
  // Marks keep their size on the screen however close one looks.
  new MutationObserver(show).observe(svg, { attributeFilter: ["viewBox"] });
  show();
}

function drawSketch(
  layer: SVGGElement,
  svg: SVGSVGElement,
  grid: Grid,
  places: (Place | undefined)[],
  shape: string,
): void {
  const matrix = svg.getScreenCTM();
  const size = matrix ? 1 / matrix.a : 1;
  const spots = places.flatMap((place, at) => (place ? [{ at, px: pixelOf(grid, place) }] : []));
  const kept = [...layer.querySelectorAll<SVGElement>(".handle")];
  let path = layer.querySelector("path");
  if (!path) {
    path = document.createElementNS(SVG, "path");
    layer.prepend(path);
  }
  const steps = spots.map(({ px }) => px.join(" ")).join("L");
  path.setAttribute("d", steps ? `M${steps}${shape === "area" ? "Z" : ""}` : "");
  path.setAttribute("stroke-width", String(2.5 * size));
  for (const extra of kept.slice(spots.length)) extra.remove();
  spots.forEach(({ at, px }, order) => {
    const handle = kept[order] ?? document.createElementNS(SVG, "circle");
    handle.setAttribute("class", "handle");
    handle.setAttribute("cx", String(px[0]));
    handle.setAttribute("cy", String(px[1]));
    handle.setAttribute("r", String(8 * size));
    handle.setAttribute("stroke-width", String(2 * size));
    handle.dataset["at"] = String(at);
    if (!handle.parentNode) layer.append(handle);
  });
}

/** Let a point be dragged, without moving the map under it. */
function makeHandlesMovable(
  layer: SVGGElement,
  svg: SVGSVGElement,
  grid: Grid,
  move: (at: number, place: Place) => void,
): void {
  let held: number | undefined;
  for (const begin of ["mousedown", "touchstart"]) {
    layer.addEventListener(begin, (event) => event.stopPropagation(), { passive: true });
  }
  layer.addEventListener("pointerdown", (event) => {
    if (!(event.target instanceof SVGElement)) return;
    const at = event.target.dataset["at"];
    if (at === undefined) return;
    held = Number(at);
    event.target.setPointerCapture(event.pointerId);
  });
  layer.addEventListener("pointermove", (event) => {
    const place = held === undefined ? undefined : placeAt(svg, grid, event);
    if (held !== undefined && place) move(held, place);
  });
  for (const end of ["pointerup", "pointercancel"]) {
    layer.addEventListener(end, () => (held = undefined));
  }
}

/** Say how long the drawing is, in the reader's unit. */
function measure(form: HTMLFormElement, places: (Place | undefined)[], shape: string): void {
  const told = form.querySelector<HTMLElement>("#measured");
  if (!told) return;
  const known = places.filter((place) => place !== undefined);
  const around = shape === "area" && known[0] && known.length > 2 ? [...known, known[0]] : known;
  let length = 0;
  around.forEach((place, at) => {
    const before = around[at - 1];
    if (before) length += Math.hypot(place.east - before.east, place.north - before.north);
  });
  const unit = told.dataset["unit"] ?? "m";
  const shown = (length * Number(told.dataset["perM"] ?? 1)).toFixed(1);
  const count = `${known.length} ${known.length === 1 ? "point" : "points"}`;
  told.textContent = known.length > 1 ? `${count}, ${shown} ${unit}` : known.length ? count : "";
}
