// Big buttons beside a number: one more, one less.

/** Let the buttons that name a field count in it. */
export function attachCounting(page: Document): void {
  page.addEventListener("click", (event) => {
    const target = event.target instanceof Element ? event.target : null;
    const button = target?.closest<HTMLElement>("button[data-step]");
    const field = page.getElementById(button?.dataset["for"] ?? "");
    if (!button || !(field instanceof HTMLInputElement)) return;
    const typed = field.value.trim();
    const now = typed === "" ? 0 : Number(typed);
    // What is no number is the writer's to mend.
    if (Number.isNaN(now)) return;
    field.value = String(Math.max(now + Number(button.dataset["step"]), 0));
  });
}
