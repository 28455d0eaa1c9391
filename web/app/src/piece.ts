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

/** The camera that shows all of a piece in a window of so many device pixels. */
export function fit(outline: { width_mm: number; height_mm: number; centre: [number, number] }, w: number, h: number): Camera {
  return { x: outline.centre[0], y: outline.centre[1], scale: Math.max(1, Math.min(w / outline.width_mm, h / outline.height_mm) / 1.08) };
}
