// The page as a whole: its width, what is said in its corner, forms that send themselves.

/** Where a picture is drawn for a phone rather than for a table. */
const NARROW = "(max-width: 40rem)";

/** Tell the server how the page is read, and load it anew once if it guessed wrong. */
export function attachReader(page: Document, view: Window): void {
  const narrow = view.matchMedia(NARROW);
  const dark = view.matchMedia("(prefers-color-scheme: dark)");
  const tell = (): string => {
    const told = [
      `width=${narrow.matches ? "narrow" : "wide"}`,
      `dark=${dark.matches ? "yes" : "no"}`,
    ];
    for (const one of told) page.cookie = `${one}; path=/; samesite=strict; max-age=31536000`;
    return told.join(" ");
  };
  narrow.addEventListener("change", tell);
  dark.addEventListener("change", tell);
  const { width, dark: night, light } = page.documentElement.dataset;
  const drawn = [`width=${width}`, `dark=${light ? (dark.matches ? "yes" : "no") : night}`];
  const told = tell();
  if (told === drawn.join(" ") || !page.querySelector(".picture")) return;
  // Where cookies are not kept, a second try would not help either.
  if (told.split(" ").every((one) => page.cookie.includes(one))) view.location.reload();
}

/** Bring the question that is open into view, where the row is wider than the page. */
export function showQuestion(page: Document): void {
  const open = page.querySelector<HTMLElement>('.questions [aria-current="page"]');
  const row = open?.closest("ul");
  if (open && row) row.scrollLeft = open.offsetLeft - (row.clientWidth - open.offsetWidth) / 2;
}

/** Let a choice send its form at once. */
export function attachSending(page: Document): void {
  page.addEventListener("change", (event) => {
    const field = event.target;
    if (field instanceof HTMLElement && field.matches("[data-send], [data-send] *")) {
      field.closest("form")?.requestSubmit();
    }
  });
}

/** Let a page be printed as it stands. */
export function attachPrinting(page: Document, view: Window): void {
  page.addEventListener("click", (event) => {
    if (event.target instanceof Element && event.target.closest("[data-print]")) view.print();
  });
}

/** What a change of the record is answered with. */
export interface Told {
  said?: string;
  batch?: string | null;
  key?: string;
  row?: string;
  now?: string;
  /** The counts at the top, how many rows there are, and the row to stand under. */
  state?: string;
  of?: number;
  after?: string;
  errors?: Record<string, string> | { row: number; field?: string; said: string }[];
  lines?: string[];
}

/** The longest change that a browser sends after its page is gone [characters]. */
const KEPT_ALIVE = 50_000;

/** Send fields to the server as a form and return what it answers. */
export async function send(
  page: Document,
  address: string,
  fields: Record<string, string>,
): Promise<{ ok: boolean; told: Told }> {
  const body = new URLSearchParams(fields);
  const asked = fetch(address, {
    method: "POST",
    // A short change still arrives when the page is left at once.
    keepalive: body.toString().length < KEPT_ALIVE,
    headers: {
      Accept: "application/json",
      "X-Pennyweight-Token": page.body.dataset["token"] ?? "",
    },
    body,
  });
  try {
    const answer = await asked;
    return { ok: answer.ok, told: (await answer.json()) as Told };
  } catch {
    const lines = ["The program does not answer. What you typed stays here; try again."];
    return { ok: false, told: { lines } };
  }
}

/** Say something in the corner, with something to do about it where there is one. */
export function say(
  page: Document,
  text: string,
  act?: () => void,
  label = "Take back",
): void {
  const place = page.getElementById("said");
  if (!place) return;
  const line = page.createElement("p");
  line.append(text);
  if (act) {
    const button = page.createElement("button");
    button.type = "button";
    button.className = "quiet";
    button.textContent = label;
    button.addEventListener("click", act);
    line.append(button);
  }
  place.replaceChildren(line);
  setTimeout(() => line.remove(), 9000);
}

/** Open a word or a number where it stands: by hand, by Enter or by Space. */
export function attachWords(page: Document): void {
  const toggle = (target: EventTarget | null): boolean => {
    const word = target instanceof Element ? target.closest(".word") : null;
    const meaning = page.getElementById(word?.getAttribute("aria-controls") ?? "");
    if (!word || !meaning) return false;
    meaning.togglePopover();
    return true;
  };
  page.addEventListener("click", (event) => toggle(event.target));
  page.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    if (toggle(event.target)) event.preventDefault();
  });
  page.addEventListener(
    "toggle",
    (event) => {
      const meaning = event.target;
      if (!(meaning instanceof HTMLElement) || !meaning.matches(".meaning")) return;
      const open = String(meaning.matches(":popover-open"));
      page.querySelector(`[aria-controls="${meaning.id}"]`)?.setAttribute("aria-expanded", open);
    },
    true,
  );
}
