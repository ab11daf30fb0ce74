// The page as a whole: its width, what is said in its corner, forms that send themselves.

/** Where a picture is drawn for a phone rather than for a table. */
const NARROW = "(max-width: 40rem)";

/** Tell the server how wide the page is, and load it anew if it guessed wrong. */
export function attachWidth(page: Document, view: Window): void {
  const narrow = view.matchMedia(NARROW);
  const tell = (): string => {
    const width = narrow.matches ? "narrow" : "wide";
    page.cookie = `width=${width}; path=/; samesite=strict; max-age=31536000`;
    return width;
  };
  const drawn = page.documentElement.dataset["width"];
  if (tell() !== drawn && page.querySelector(".picture")) view.location.reload();
  narrow.addEventListener("change", () => {
    tell();
    if (page.querySelector(".picture")) view.location.reload();
  });
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

/** What a change of the record is answered with. */
export interface Told {
  said?: string;
  batch?: string | null;
  key?: string;
  row?: string;
  now?: string;
  errors?: Record<string, string> | { row: number; field?: string; said: string }[];
  lines?: string[];
}

/** Send fields to the server as a form and return what it answers. */
export async function send(
  page: Document,
  address: string,
  fields: Record<string, string>,
): Promise<{ ok: boolean; told: Told }> {
  const answer = await fetch(address, {
    method: "POST",
    headers: {
      Accept: "application/json",
      "X-Pennyweight-Token": page.body.dataset["token"] ?? "",
    },
    body: new URLSearchParams(fields),
  });
  return { ok: answer.ok, told: (await answer.json()) as Told };
}

/** Say something in the corner, with a way to take it back where there is one. */
export function say(page: Document, text: string, undo?: () => void): void {
  const place = page.getElementById("said");
  if (!place) return;
  const line = page.createElement("p");
  line.append(text);
  if (undo) {
    const button = page.createElement("button");
    button.type = "button";
    button.className = "quiet";
    button.textContent = "Take back";
    button.addEventListener("click", undo);
    line.append(button);
  }
  place.replaceChildren(line);
  setTimeout(() => line.remove(), 9000);
}
