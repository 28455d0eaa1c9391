// How the piece is looked at: camera, lamp, look and the line drawn across it.
import { computed, effect, signal } from "@preact/signals";
import { api } from "./api";
import { job, upto } from "./store";
import type { Camera, Lamp, Lean, Recipe } from "./gl/renderer";

export const atRest: Lamp = { azimuth: 40, height: 40 }; // as package light's DefaultLamp
export const lamp = signal<Lamp>({ ...atRest });
export const camera = signal<Camera>({ x: 0, y: 0, scale: 10 });
/** True while the camera shows the whole piece, whatever size the window takes. */
export const wholePiece = signal(true);
export const look = signal<"metal" | "matte" | "lines">("metal");
/** What the scene is other than the job's own and the usual; "" leaves a word as it is. */
export interface Scene { metal: string; land: string; enamel: string; room: string; light: string; wide: number; eye: number; exposure: number }
export const usual: Scene = { metal: "", land: "", enamel: "", room: "", light: "", wide: 15, eye: 420, exposure: 0 };
export const scene = signal<Scene>({ ...usual });
/** The scene in numbers, for the card; null until the server has told it. */
export const recipe = signal<Recipe | null>(null);
/** How the piece leans in the hand. */
export const lean = signal<Lean>({ tilt: 0, toward: 0 });
/** True while the pointer, a finger or the tablet itself rocks the piece. */
export const rocking = signal(false);
export const drawingLine = signal(false);
export const line = signal<[number, number, number, number] | null>(null);
export const withoutLight = signal(""); // why this browser cannot draw the piece itself
/** Layers behind the shown picture, those that are kept, and frames drawn: for the tests and the curious. */
export const shown = signal({ layers: 0, kept: 0, digest: "", frames: 0 });

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

export const leanMost = 20; // degrees

/** Leans the piece so that the side towards a place goes down, by as much as it is from the middle of a window. */
export function leanTo(x: number, y: number, w: number, h: number): void {
  const dx = x - w / 2, dy = h / 2 - y;
  setLean(Math.min(1, Math.hypot(dx, dy) / (Math.min(w, h) / 2)) * leanMost, Math.atan2(dy, dx) * 180 / Math.PI);
}

export function setLean(tilt: number, toward: number): void {
  lean.value = { tilt: Math.min(leanMost, Math.max(0, tilt)), toward: (toward % 360 + 360) % 360 };
}

const words = computed(() => {
  const s = scene.value;
  return {
    metal: s.metal || undefined, land: s.land || undefined, enamel: s.enamel || undefined, room: s.room || undefined, lamp: s.light || undefined,
    wide: s.wide === usual.wide ? undefined : s.wide, eye: s.eye === usual.eye ? undefined : s.eye, exposure: s.exposure || undefined,
  };
});

/** The scene as the server is asked for it, with the lamp and the lean of the moment. */
export const sceneQuery = computed(() => ({
  ...words.value, from: Math.round(lamp.value.azimuth), height: Math.round(lamp.value.height),
  tilt: lean.value.tilt ? Math.round(lean.value.tilt * 10) / 10 : undefined, toward: lean.value.tilt ? Math.round(lean.value.toward) : undefined,
  upto: upto.value === Infinity ? undefined : upto.value,
}));

// The recipe follows the job's metal and finish and the words of the scene.
let askedFor = "";
effect(() => {
  const j = job.value, w = words.value;
  if (!j?.digest) return;
  const key = JSON.stringify([j.id, j.digest, w]);
  if (key === askedFor) return;
  askedFor = key;
  api.look(j.id, { ...w, digest: j.digest }).then((r) => { if (askedFor === key) recipe.value = r; }, () => { if (askedFor === key) askedFor = ""; });
});

let openJob = "";
effect(() => {
  const id = job.value?.id ?? "";
  if (id === openJob) return;
  openJob = id;
  wholePiece.value = true;
  line.value = null;
  drawingLine.value = false;
  scene.value = { ...usual };
  lean.value = { tilt: 0, toward: 0 };
  rocking.value = false;
});

/** The camera that shows all of a piece in a window of so many device pixels, of which the lowest are left to the scale bar. */
export function fit(outline: { width_mm: number; height_mm: number; centre: [number, number] }, w: number, h: number, foot: number): Camera {
  const scale = Math.max(1, Math.min(w / outline.width_mm, (h - foot) / outline.height_mm) / 1.08);
  return { x: outline.centre[0], y: outline.centre[1] - foot / 2 / scale, scale };
}
