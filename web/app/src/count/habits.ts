// How the count behaves on this device, remembered by it.
import { signal } from "@preact/signals";

export interface Habits {
  spoken: boolean; // what changes is said aloud
  tick: boolean; // each count is heard
  awake: boolean; // the screen does not go dark
  twice: number; // strokes closer than this are asked about, s; 0 is by the pace
  breakMinutes: number; // without a count, after which the dials are asked for
  name: string; // of this screen, where the workshop has none for it
  key: string; // of a pedal, besides the usual ones: KeyboardEvent.key
}

const usual: Habits = { spoken: false, tick: false, awake: true, twice: 0, breakMinutes: 10, name: "", key: "" };

function kept(): Habits {
  try {
    return { ...usual, ...JSON.parse(localStorage.getItem("count-habits") ?? "{}") as Partial<Habits> };
  } catch {
    return usual;
  }
}

export const habits = signal<Habits>(kept());

export function setHabit(h: Partial<Habits>): void {
  habits.value = { ...habits.value, ...h };
  try { localStorage.setItem("count-habits", JSON.stringify(habits.value)); } catch { /* it holds until the page is closed */ }
}
