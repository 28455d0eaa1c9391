// How the piece is looked at: camera, lamp, look and the line drawn across it.
import { effect, signal } from "@preact/signals";
import { job } from "./store";
import type { Camera, Lamp } from "./gl/renderer";

export const atRest: Lamp = { azimuth: 40, height: 40 }; // as package light's DefaultLamp
export const lamp = signal<Lamp>({ ...atRest });
export const camera = signal<Camera>({ x: 0, y: 0, scale: 10 });
/** True while the camera shows the whole piece, whatever size the window takes. */
export const wholePiece = signal(true);
export const look = signal<"metal" | "matte" | "lines">("metal");
export const metal = signal(""); // other than the job's own
export const drawingLine = signal(false);
export const line = signal<[number, number, number, number] | null>(null);
export const withoutLight = signal(""); // why this browser cannot draw the piece itself
/** Layers behind the shown picture, and frames drawn: for the tests and the curious. */
export const shown = signal({ layers: 0, digest: "", frames: 0 });

export const finest = 2000; // device pixels a millimetre: 0.5 µm a pixel
export const lowestLamp = 12; // degrees

export function setLamp(azimuth: number, height: number): void {
  lamp.value = { azimuth: (azimuth % 360 + 360) % 360, height: Math.min(90, Math.max(lowestLamp, height)) };
}

/** Moves the lamp to stand as far from the vertical, at 78° the edge, as a place is from the middle of a window. */
export function lampTo(x: number, y: number, w: number, h: number): void {
  const dx = x - w / 2, dy = h / 2 - y;
  setLamp(Math.atan2(dy, dx) * 180 / Math.PI, 90 - Math.min(1, Math.hypot(dx, dy) / (Math.min(w, h) / 2)) * 78);
}

/** Moves the lamp by a key; says whether the key was one for it. */
export function lampKey(e: KeyboardEvent): boolean {
  const l = lamp.value, by = e.shiftKey ? 15 : 3;
  if (e.ctrlKey || e.altKey || e.metaKey) return false;
  switch (e.key) {
    case "ArrowLeft": setLamp(l.azimuth + by, l.height); break;
    case "ArrowRight": setLamp(l.azimuth - by, l.height); break;
    case "ArrowUp": setLamp(l.azimuth, l.height + by); break;
    case "ArrowDown": setLamp(l.azimuth, l.height - by); break;
    case "Home": setLamp(atRest.azimuth, atRest.height); break;
    default: return false;
  }
  return true;
}

let openJob = "";
effect(() => {
  const id = job.value?.id ?? "";
  if (id === openJob) return;
  openJob = id;
  wholePiece.value = true;
  line.value = null;
  drawingLine.value = false;
  metal.value = "";
});

/** The camera that shows all of a piece in a window of so many device pixels, of which the lowest are left to the scale bar. */
export function fit(outline: { width_mm: number; height_mm: number; centre: [number, number] }, w: number, h: number, foot: number): Camera {
  const scale = Math.max(1, Math.min(w / outline.width_mm, (h - foot) / outline.height_mm) / 1.08);
  return { x: outline.centre[0], y: outline.centre[1] - foot / 2 / scale, scale };
}
