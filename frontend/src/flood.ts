// High water by slider: every flood is in the picture already, one of them is shown.

const STEP_MS = 900;

/** Let a slider choose the flood that the pictures show, and let the water rise. */
export function attachFloods(page: Document, view: Window): void {
  for (const form of page.querySelectorAll<HTMLFormElement>("[data-flood-slider]")) {
    attachFlood(page, view, form);
  }
}

function attachFlood(page: Document, view: Window, form: HTMLFormElement): void {
  const slider = form.querySelector<HTMLInputElement>("input[type=range]");
  const told = form.querySelector("output");
  const rise = form.querySelector<HTMLButtonElement>("[data-flood-rise]");
  if (!slider || !told) return;
  const flows = JSON.parse(form.dataset["flows"] ?? "[]") as string[];
  const waters = page.querySelectorAll<SVGElement>("[data-flood]");
  const show = (): void => {
    const words = flows[slider.valueAsNumber] ?? "";
    told.textContent = words;
    slider.setAttribute("aria-valuetext", words);
    for (const water of waters) {
      water.removeAttribute("display");
      water.classList.toggle("ebbed", water.dataset["flood"] !== slider.value);
    }
  };
  let running = 0;
  const stop = (): void => {
    view.clearInterval(running);
    running = 0;
    if (rise) rise.textContent = "Let it rise";
  };
  slider.addEventListener("input", () => {
    stop();
    show();
  });
  // Who wants less motion has the slider; nothing moves by itself.
  if (view.matchMedia("(prefers-reduced-motion: reduce)").matches) rise?.remove();
  rise?.addEventListener("click", () => {
    if (running) return stop();
    rise.textContent = "Stop";
    slider.value = slider.min;
    show();
    running = view.setInterval(() => {
      slider.stepUp();
      show();
      if (slider.value === slider.max) stop();
    }, STEP_MS);
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  show();
}
