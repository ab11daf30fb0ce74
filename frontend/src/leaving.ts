// Leaving a page on which something is typed that the book does not have yet.

import { say } from "./page.js";

/** What is not kept yet. */
export interface Unkept {
  isOpen(): boolean;
  /** Keep what can be kept; true when nothing is left. */
  settle(): Promise<boolean>;
}

const STAYS = "Stayed here: something typed is not in the book yet.";

/** Keep what is typed before the page is left; ask where it cannot be kept. */
export class Leaving {
  private free = false;

  constructor(
    private readonly page: Document,
    private readonly view: Window,
    private readonly unkept: Unkept,
  ) {
    view.addEventListener("beforeunload", (event) => {
      if (!this.free && unkept.isOpen()) event.preventDefault();
    });
    page.addEventListener("click", (event) => this.onClick(event), true);
    page.addEventListener("submit", (event) => this.onSubmit(event), true);
  }

  /** Go on once all is kept, or stay and say so. */
  async leave(go: () => void): Promise<void> {
    const freely = (): void => {
      this.free = true;
      go();
    };
    if (await this.unkept.settle()) freely();
    else say(this.page, STAYS, freely, "Leave without it");
  }

  private onClick(event: MouseEvent): void {
    if (event.ctrlKey || event.metaKey || event.shiftKey || event.button !== 0) return;
    const link = event.target instanceof Element ? event.target.closest("a[href]") : null;
    if (!(link instanceof HTMLAnchorElement) || link.target || link.hash) return;
    if (!this.unkept.isOpen()) return;
    event.preventDefault();
    void this.leave(() => this.view.location.assign(link.href));
  }

  private onSubmit(event: SubmitEvent): void {
    const form = event.target;
    if (this.free || !(form instanceof HTMLFormElement) || !this.unkept.isOpen()) return;
    event.preventDefault();
    const { submitter } = event;
    void this.leave(() => form.requestSubmit(submitter));
  }
}
