// What is heard: a tick for a count, a low double tone where nothing was counted,
// and the next action aloud when it changes. All off until the device is told.
import { effect } from "@preact/signals";
import { habits } from "./habits";
import { program, shown, trouble } from "./keep";

let out: AudioContext | null = null;

export function sound(what: "counted" | "not counted"): void {
  if (!habits.value.tick || !("AudioContext" in window)) return;
  out ??= new AudioContext();
  void out.resume(); // a browser lets no page be heard before it was touched
  if (what === "counted") beep(1600, 0, 0.03);
  else { beep(330, 0, 0.12); beep(262, 0.16, 0.2); }
}

function beep(hertz: number, after: number, lasts: number): void {
  const tone = out!.createOscillator(), loud = out!.createGain(), at = out!.currentTime + after;
  tone.frequency.value = hertz;
  loud.gain.setValueAtTime(0.3, at);
  loud.gain.exponentialRampToValueAtTime(0.001, at + lasts);
  tone.connect(loud).connect(out!.destination);
  tone.start(at);
  tone.stop(at + lasts);
}

/** Whether the browser can speak. */
export const canSpeak = "speechSynthesis" in window;

function say(text: string): void {
  if (!habits.peek().spoken || !canSpeak) return;
  speechSynthesis.cancel();
  const words = new SpeechSynthesisUtterance(text.replace(/\u2212/g, "minus "));
  words.lang = "en-GB";
  speechSynthesis.speak(words);
}

// Only what changes is said: hundreds of equal actions need no voice.
let before = "";
effect(() => {
  const s = shown.value, p = program.value;
  if (!s || !p || !habits.value.spoken) { before = ""; return; }
  const cut = p.cuts[s.next - 1];
  const now = s.next > s.total ? `The last cut is counted. ${p.after_action ?? ""}` : [cut?.change, cut?.action].filter(Boolean).join(" ");
  if (now !== before) say(now);
  before = now;
});
effect(() => { if (trouble.value) say(trouble.value.title); });
