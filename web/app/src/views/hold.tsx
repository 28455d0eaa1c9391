// A button that acts only when it is held, so that nothing is taken back by a slip
// of the hand. A reader of the screen, that cannot hold, is asked instead.
import { useEffect, useRef, useState } from "preact/hooks";
import { told } from "../store";

const holdFor = 800; // ms, as long as .ring in page.css fills

export function Hold({ name, explain, onHeld, keys = [], disabled, strong, big }: {
  name: string; explain: string; onHeld: () => void; keys?: string[]; disabled?: boolean; strong?: boolean; big?: boolean;
}) {
  const [held, setHeld] = useState(false);
  const [asked, setAsked] = useState(false);
  const timer = useRef(0), byHand = useRef(false);
  const begin = () => {
    if (disabled || timer.current) return;
    byHand.current = true;
    setHeld(true);
    timer.current = window.setTimeout(() => { timer.current = -1; setHeld(false); onHeld(); }, holdFor);
  };
  const end = (tell: boolean) => {
    if (timer.current > 0) {
      window.clearTimeout(timer.current);
      if (tell) told.value = explain;
    }
    timer.current = 0;
    setHeld(false);
    window.setTimeout(() => { byHand.current = false; }, 50);
  };
  const now = useRef({ begin, end });
  now.current = { begin, end };
  useEffect(() => {
    if (!keys.length) return;
    const down = (e: KeyboardEvent) => {
      if (!keys.includes(e.key) || isTyping(e) || e.ctrlKey || e.metaKey || e.altKey) return;
      e.preventDefault();
      if (!e.repeat) now.current.begin();
    };
    const up = (e: KeyboardEvent) => { if (keys.includes(e.key)) now.current.end(true); };
    const away = () => now.current.end(false);
    window.addEventListener("keydown", down);
    window.addEventListener("keyup", up);
    window.addEventListener("blur", away);
    return () => {
      window.removeEventListener("keydown", down);
      window.removeEventListener("keyup", up);
      window.removeEventListener("blur", away);
    };
  }, [keys.join()]);
  useEffect(() => () => window.clearTimeout(timer.current), []);
  const press = (e: KeyboardEvent) => e.key === " " || e.key === "Enter";
  if (asked) {
    return (
      <span class="sure">{name}? <button type="button" class="word strong" onClick={() => { setAsked(false); onHeld(); }}>Yes</button>{" "}
        <button type="button" class="word" onClick={() => setAsked(false)}>No</button></span>
    );
  }
  return (
    <button type="button" class={`hold${held ? " held" : ""}${strong ? " strong" : ""}${big ? " big" : ""}`} disabled={disabled} aria-description={explain}
      onPointerDown={(e) => { if (e.button === 0) { e.currentTarget.setPointerCapture(e.pointerId); begin(); } }}
      onPointerUp={() => end(true)} onPointerCancel={() => end(false)} onBlur={() => end(false)} onContextMenu={(e) => e.preventDefault()}
      onKeyDown={(e) => { if (press(e)) { e.preventDefault(); e.stopPropagation(); if (!e.repeat) begin(); } }}
      onKeyUp={(e) => { if (press(e)) { e.preventDefault(); end(true); } }}
      onClick={() => { if (!byHand.current) setAsked(true); }}>
      <svg class="ring" viewBox="0 0 24 24" aria-hidden="true"><circle class="way" cx="12" cy="12" r="9" /><circle class="fill" cx="12" cy="12" r="9" pathLength="1" /></svg>
      <span>{held ? "keep holding …" : name}</span>
    </button>
  );
}

/** Whether a key goes into a text. */
export const isTyping = (e: Event) => e.target instanceof HTMLElement && e.target.matches("input:not([type=checkbox]):not([type=radio]), textarea, select");
