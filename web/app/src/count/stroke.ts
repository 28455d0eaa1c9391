// From the pedal to the count: what is a stroke, what is one too many, and when a
// question stands in between.
import { computed, effect, signal } from "@preact/signals";
import { told } from "../store";
import { habits } from "./habits";
import { act, openedAfresh, shown } from "./keep";
import { sound } from "./voice";

/** The dials are to be looked at before anything is counted. */
export const lookAtDials = signal(false);
/** How far that is: the question, or what they show. */
export const asking = signal<"question" | "dials">("question");
/** Strokes made while the dials were asked for; they are not counted yet. */
export const heldStrokes = signal(0);
/** Strokes too close to the one that was counted, and the time they took, s. */
export const doubtful = signal<{ more: number; apart: number } | null>(null);

/** Strokes closer than this are asked about, s: a third of the usual time, or what the device was told. */
export const tooClose = computed(() => habits.value.twice || Math.max(leastApart, (shown.value?.pace?.seconds ?? 0) / 3));
// Nobody cranks a stroke and steps the work in less (common practice, no source).
const leastApart = 0.7;

let counted = -Infinity, latest = -Infinity; // performance.now of strokes

/** Takes a stroke of the pedal, the key or the hand. */
export function stroke(at = performance.now()): void {
  const s = shown.value;
  if (!s || s.state === "finished" || s.state === "abandoned") return;
  if (s.next > s.total) { told.value = `All ${s.total} cuts are counted. Finish the run, or take the last count back.`; return; }
  const apart = (at - latest) / 1000;
  if (lookAtDials.value) {
    if (apart >= tooClose.value) heldStrokes.value++;
    latest = at;
    sound("not counted");
    return;
  }
  if (apart < tooClose.value) {
    doubtful.value = { more: (doubtful.value?.more ?? 0) + 1, apart: (at - counted) / 1000 };
    latest = at;
    sound("not counted");
    return;
  }
  if (doubtful.value) leaveOut();
  counted = latest = at;
  void count();
}

async function count(): Promise<void> {
  const ok = await act((s) => s.next > s.total ? null : { kind: "done", cut: s.next });
  sound(ok ? "counted" : "not counted");
}

/** Counts the strokes that were in doubt. */
export async function countDoubtful(): Promise<void> {
  const n = doubtful.value?.more ?? 0;
  doubtful.value = null;
  for (let i = 0; i < n; i++) await count();
}

export function leaveOut(): void {
  const n = doubtful.value?.more ?? 0;
  doubtful.value = null;
  if (n) told.value = n === 1 ? "The second stroke is left out." : `${n} strokes are left out.`;
}

/** The dials are right: goes on, counting the strokes made meanwhile if so wished. */
export async function dialsRight(countHeld: boolean): Promise<void> {
  const n = countHeld ? heldStrokes.value : 0;
  closeDials();
  for (let i = 0; i < n; i++) await count();
}

export function closeDials(): void {
  lookAtDials.value = false;
  heldStrokes.value = 0;
  looked = Date.now();
}

/** Asks for the dials. */
export function askForDials(): void {
  doubtful.value = null;
  asking.value = "question";
  lookAtDials.value = true;
}

/** Takes the last count back. */
export async function takeBack(): Promise<void> {
  const last = shown.value?.last;
  if (!last) return;
  doubtful.value = null;
  if (await act(() => ({ kind: "undone", cut: last.cut, undoes: last.id }))) {
    told.value = `Cut ${last.cut} is taken back: it is the next again.`;
    sound("not counted");
  }
}

// After a break, a reload or a crash the dials are asked for before the next count.
let looked = 0; // Date.now
let lastCount = { run: "", next: 0, at: 0 };
effect(() => {
  const s = shown.value;
  if (!s || s.id === lastCount.run && s.next === lastCount.next) return;
  const first = s.id !== lastCount.run;
  lastCount = { run: s.id, next: s.next, at: first && s.last ? Date.parse(s.last.at) : Date.now() };
  if (first) { looked = 0; counted = latest = -Infinity; }
});
effect(() => {
  if (!openedAfresh.value) return;
  openedAfresh.value = false;
  ask();
});
window.setInterval(() => {
  const since = Math.max(looked, lastCount.at);
  if (shown.value && lastCount.run === shown.value.id && since && Date.now() - since > habits.value.breakMinutes * 60_000) ask();
}, 1000);

function ask(): void {
  const s = shown.value;
  if (!s || s.next <= 1 || lookAtDials.value || s.state === "finished" || s.state === "abandoned") return;
  askForDials();
}
