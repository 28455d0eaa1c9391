// The screen is kept awake while a run is open, where the browser can.
import { effect, signal } from "@preact/signals";
import { habits } from "./habits";
import { shown } from "./keep";

/** Why the screen may go dark; empty when it stays awake or need not. */
export const goesDark = signal("");

let lock: WakeLockSentinel | null = null;

async function hold(): Promise<void> {
  const wanted = habits.value.awake && !!shown.value && (shown.value.state === "under way" || shown.value.state === "paused");
  if (!wanted) {
    goesDark.value = "";
    await lock?.release();
    lock = null;
    return;
  }
  if (lock && !lock.released || document.hidden) return;
  if (!("wakeLock" in navigator)) {
    goesDark.value = "This browser cannot keep the screen awake; let it sleep late in the settings of the device.";
    return;
  }
  try {
    lock = await navigator.wakeLock.request("screen");
    goesDark.value = "";
  } catch {
    goesDark.value = "The device does not let the page keep the screen awake, its battery is low perhaps; look at its settings.";
  }
}

const open = () => !!shown.value && habits.value.awake && shown.value.state;
let was: unknown;
effect(() => {
  const now = open();
  if (now !== was) { was = now; void hold(); }
});
document.addEventListener("visibilitychange", () => void hold()); // the browser lets go of it when the page is hidden
