// What every screen is given.

import type { Maker } from "./dom";
import type { Plan } from "./plan";
import type { Shelf } from "./shelf";

export interface App {
  make: Maker;
  plan: Plan;
  shelf: Shelf;
  view: Window & typeof globalThis;
  /** Open a screen; the words name the thing shown on it. */
  open(screen: string, ...names: string[]): void;
  /** Go back to what the open screen belongs to. */
  leave(): void;
  /** Do this now and after every change, as long as the screen is open. */
  live(update: () => void): void;
  /** Draw the screen again. */
  redraw(): void;
}

/** Where the screen that is open stands: its name, and what is shown on it. */
export interface Stand {
  screen: string;
  names: string[];
}

/** Write a stand as the part of an address behind the hash. */
export function writeStand(screen: string, names: readonly string[]): string {
  return `#${[screen, ...names].map(encodeURIComponent).join("/")}`;
}

/** Read a stand; what cannot be read is home. */
export function readStand(hash: string): Stand {
  try {
    const [screen = "", ...names] = hash.replace(/^#/, "").split("/").map(decodeURIComponent);
    return { screen: screen || "home", names };
  } catch {
    return { screen: "home", names: [] };
  }
}
