// One field of a form: a text, a number with its unit, a count, or words to tap.

import type { App } from "./app";
import type { Cells, Kind } from "./entries";
import type { Field } from "./fields";
import { mustSettle, positionNames, type Row, type Said, shownText } from "./gathering";
import { readNumber, showCell, splitHeading } from "./quantities";
import { choiceWords, labels, words } from "./words";

/** The thing that a form is about. */
export interface Target {
  kind: Kind;
  key: Cells;
  /** What the book knows about it: shown, and not written again. */
  known?: Cells;
}

let lastId = 0;

function freshId(): string {
  lastId += 1;
  return `field-${lastId}`;
}

/** Write a cell of a thing. */
export function writeCell(app: App, target: Target, heading: string, text: string): void {
  app.shelf.write(target.kind, target.key, heading, text);
}

function saidOf(app: App, target: Target, name: string): Said[] {
  const row: Row | undefined = app.shelf.find(target.kind, target.key);
  const written = row?.said.get(name);
  if (written) return written;
  const known = Object.entries(target.known ?? {});
  const found = known.find(([heading]) => splitHeading(heading).name === name);
  return found ? [{ heading: found[0], text: found[1], phone: "" }] : [];
}

/** Return the heading of a field: as it was written, else in the user's measures. */
export function headingOf(app: App, field: Field, said: readonly Said[]): string {
  const written = said[0]?.heading;
  if (written) return written;
  const unit = field.units?.[app.shelf.settings.measures];
  return unit ? `${field.name}_${unit}` : field.name;
}

function labelText(heading: string): string {
  const { name, unit } = splitHeading(heading);
  const label = labels[name] ?? name;
  return unit ? `${label}, ${unit.replace(/3$/, "\u00b3")}` : label;
}

/** Return the node of one field. */
export function fieldNode(app: App, target: Target, field: Field): HTMLElement {
  const said = saidOf(app, target, field.name);
  const heading = headingOf(app, field, said);
  const write = (text: string) => writeCell(app, target, heading, text);
  const value = shownText(field.name, said);
  const inside =
    field.as === "choice"
      ? choiceNode(app, field, value, write)
      : typedNode(app, field, { heading, value, write });
  if (mustSettle(field.name, said)) inside.append(differNode(app, target, said));
  return inside;
}

interface Typed {
  heading: string;
  value: string;
  write: (text: string) => void;
}

function typedNode(app: App, field: Field, typed: Typed): HTMLElement {
  const { make } = app;
  const id = freshId();
  const wrong = make("p", { class: "wrong", id: `${id}-wrong`, role: "status" });
  const numeric = field.as === "number" || field.as === "count";
  const judge = (text: string) => {
    const odd = numeric && text.trim() !== "" && readNumber(text) === null;
    wrong.textContent = odd ? words.noNumber : "";
  };
  const input = inputFor(app, field, id);
  input.value = typed.value;
  input.addEventListener("input", () => {
    const text = numeric && readNumber(input.value) !== null ? input.value.replace(",", ".") : input.value;
    typed.write(text.trim());
    judge(text);
  });
  judge(typed.value);
  const label = make("label", { for: id }, labelText(typed.heading));
  const box = field.as === "count" ? stepperNode(app, input, label.textContent) : input;
  return make("div", { class: "field" }, label, box, wrong);
}

function inputFor(app: App, field: Field, id: string): HTMLInputElement | HTMLTextAreaElement {
  const { make } = app;
  const about = { id, "aria-describedby": `${id}-wrong`, autocomplete: "off" };
  if (field.as === "long") return make("textarea", { ...about, rows: "3" });
  if (field.as === "date") return make("input", { ...about, type: "date" });
  if (field.as === "text") return make("input", { ...about, type: "text" });
  return make("input", { ...about, type: "text", inputmode: "decimal" });
}

/** Put a big minus and plus beside a number. */
function stepperNode(
  app: App,
  input: HTMLInputElement | HTMLTextAreaElement,
  name: string,
): HTMLElement {
  const step = (by: number) => () => {
    const stepped = Math.max(0, (readNumber(input.value) ?? 0) + by);
    input.value = stepped === 0 ? "" : String(stepped);
    input.dispatchEvent(new app.view.Event("input"));
  };
  return app.make(
    "div",
    { class: "stepper" },
    app.make("button", { type: "button", "aria-label": `${name} \u2212 1`, click: step(-1) }, "\u2212"),
    input,
    app.make("button", { type: "button", "aria-label": `${name} + 1`, click: step(1) }, "+"),
  );
}

function choiceNode(
  app: App,
  field: Field,
  value: string,
  write: (text: string) => void,
): HTMLElement {
  const { make } = app;
  const id = freshId();
  const choices = field.choices ?? [];
  let chosen = value;
  const own = make("input", {
    type: "text",
    "aria-labelledby": id,
    placeholder: words.ownWord,
    autocomplete: "off",
  });
  const taps = choices.map((one) => {
    const tap = make("button", { type: "button", class: "tap" }, choiceWords[one] ?? one);
    tap.addEventListener("click", () => choose(chosen === one ? "" : one));
    return tap;
  });
  const told = make("p", { class: "soft", role: "status" });
  const show = () => {
    told.textContent = field.told?.includes(chosen) ? words.noGrade : "";
    taps.forEach((tap, at) => tap.setAttribute("aria-pressed", String(choices[at] === chosen)));
    if (!own.matches(":focus")) own.value = choices.includes(chosen) ? "" : chosen;
  };
  const choose = (text: string) => {
    chosen = text;
    write(text);
    show();
  };
  own.addEventListener("input", () => choose(own.value.trim()));
  show();
  const group = make("div", { class: "taps", role: "group", "aria-labelledby": id }, ...taps);
  if (field.open || (value && !choices.includes(value))) group.append(own);
  return make("div", { class: "field" }, make("p", { class: "label", id }, labels[field.name] ?? field.name), group, told);
}

/** Show side by side what phones say, each to be used with one tap. */
export function differNode(app: App, target: Target, said: readonly Said[]): HTMLElement {
  const { make, shelf } = app;
  const who = (phone: string) =>
    phone === shelf.settings.phone ? words.thisPhone : words.fromPhone(phone);
  const taps = said.map((one) => {
    const text = `${words.useThis(showCell(one.heading, one.text))} (${who(one.phone)})`;
    const settle = () => {
      useSaid(app, target, one);
      app.redraw();
    };
    return make("button", { type: "button", class: "tap", click: settle }, text);
  });
  return make("div", { class: "differs" }, make("p", {}, words.differs), ...taps);
}

/** Settle a difference; of a position, all that the same phone measured. */
function useSaid(app: App, target: Target, one: Said): void {
  const names = positionNames.includes(one.heading) ? positionNames : [one.heading];
  const row = app.shelf.find(target.kind, target.key);
  for (const name of names) {
    const entry = row?.entries.find(({ phone, cells }) => phone === one.phone && name in cells);
    const text = name === one.heading ? one.text : entry?.cells[name];
    if (text !== undefined) writeCell(app, target, name, text);
  }
}

/** A short form that begins something: one input and one button. */
export function starterNode(
  app: App,
  about: { label: string; value: string; action: string; numeric?: boolean },
  start: (text: string, say: (text: string) => void) => void,
): HTMLElement {
  const { make } = app;
  const id = freshId();
  const said = make("p", { class: "said", role: "status" });
  const input = make("input", {
    id,
    type: "text",
    value: about.value,
    autocomplete: "off",
    ...(about.numeric ? { inputmode: "decimal" } : {}),
  });
  const submit = (event: Event) => {
    event.preventDefault();
    start(input.value.trim(), (text) => {
      said.textContent = text;
    });
  };
  return make(
    "form",
    { class: "starter", submit },
    make("label", { for: id }, about.label),
    make("div", { class: "row" }, input, make("button", { type: "submit" }, about.action)),
    said,
  );
}
