// Where the phone is, and how far something lies from it.

import type { Measures } from "./quantities";
import { words } from "./words";

const earthRadiusM = 6_371_000;
const ways = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"];

export interface Degrees {
  longitude: number;
  latitude: number;
}

/** Ask the phone for its position; the error's text is for the user. */
export function locate(view: Window): Promise<GeolocationCoordinates> {
  return new Promise((resolve, reject) => {
    if (!view.navigator.geolocation) return reject(new Error(words.locateRefused));
    view.navigator.geolocation.getCurrentPosition(
      (found) => resolve(found.coords),
      (failed) => {
        const refused = failed.code === failed.PERMISSION_DENIED;
        reject(new Error(refused ? words.locateRefused : words.locateFailed));
      },
      { enableHighAccuracy: true, timeout: 60_000, maximumAge: 0 },
    );
  });
}

function radians(degrees: number): number {
  return (degrees * Math.PI) / 180;
}

/** Say how far and which way a place lies, on a flat piece of ground. */
export function tellWay(from: Degrees, to: Degrees, measures: Measures): string {
  const north = radians(to.latitude - from.latitude) * earthRadiusM;
  const turn = Math.cos(radians((from.latitude + to.latitude) / 2));
  const east = radians(to.longitude - from.longitude) * earthRadiusM * turn;
  const way = ways[Math.round(Math.atan2(east, north) / (Math.PI / 4) + 8) % 8] ?? "";
  return words.away(showLength(Math.hypot(north, east), measures), way);
}

/** Show a length in the user's measures. */
export function showLength(lengthM: number, measures: Measures): string {
  const length = measures === "feet" ? lengthM / 0.3048 : lengthM;
  const digits = length < 10 ? 1 : 0;
  return `${length.toFixed(digits)} ${measures === "feet" ? "ft" : "m"}`;
}
