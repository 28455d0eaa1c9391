// What else happens at the engine: words below the count, one of them open at a time.
import { signal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { habits, setHabit } from "../count/habits";
import { act } from "../count/keep";
import type { BenchEvent, Program } from "../count/runs";
import type { Shown } from "../count/shown";
import { askForDials, tooClose } from "../count/stroke";
import { canSpeak, sound } from "../count/voice";
import { told } from "../store";
import { keyName, TakeBack, toCount } from "./count";
import { Hold } from "./hold";

type Tool = "" | "skip" | "note" | "held" | "measured" | "habits" | "run";
export const tool = signal<Tool>("");
/** The next key is the pedal's. */
export const learning = signal(false);
const open = signal(false); // on a phone the words are put away

export function Tools({ s, p }: { s: Shown; p: Program }) {
  const ended = s.state === "finished" || s.state === "abandoned";
  const pick = (t: Tool) => { tool.value = tool.value === t ? "" : t; };
  const word = (t: Tool, name: string) => <button type="button" class="word" aria-expanded={tool.value === t} onClick={() => pick(t)}>{name}</button>;
  const pause = async () => {
    if (await keep(s.state === "paused" ? { kind: "resumed" } : { kind: "paused" })) told.value = s.state === "paused" ? "The run goes on." : "A pause. The next count ends it.";
  };
  return (
    <footer class={`tools${open.value ? " open" : ""}`}>
      <div class="tool-words">
        {!ended && <TakeBack s={s} />}
        <button type="button" class="word more-words" aria-expanded={open.value} onClick={() => { open.value = !open.value; toCount(); }}>{open.value ? "less" : "more …"}</button>
        <span class="words">
          {!ended && s.next <= s.total && word("skip", `Skip cut ${s.next}`)}
          {word("note", "Note")}
          {!ended && <button type="button" class="word" onClick={() => void pause()}>{s.state === "paused" ? "Go on" : "Pause"}</button>}
          {!ended && word("held", "Guide or stop changed")}
          {word("measured", "Width measured")}
          {!ended && <button type="button" class="word" onClick={() => void keep({ kind: "touched-up" }).then((ok) => { if (ok) told.value = "Kept: the cutter was touched up."; })}>Cutter touched up</button>}
          {!ended && s.next > 1 && <button type="button" class="word" onClick={askForDials}>Where am I?</button>}
          {word("run", "The run")}
          {word("habits", "Pedal, sound, screen")}
        </span>
      </div>
      {tool.value === "skip" && <Words name={`Why is cut ${s.next} left out?`} button={`Skip cut ${s.next}`} choices={["ground is damaged", "stands in a window", "left for later"]} keep={(text) => ({ kind: "skipped", cut: s.next, text })} needed />}
      {tool.value === "note" && <Words name={`Note, at cut ${Math.max(1, s.next - 1)}`} button="Keep the note" keep={(text) => ({ kind: "note", cut: Math.min(s.total, Math.max(1, s.next - 1)), text })} needed />}
      {tool.value === "held" && <Words name="What holds the depth from now on?" button="Keep it" choices={["guide off, stop on", "stop off, guide on", "by hand", "guide set anew", "stop set anew"]} keep={(text) => ({ kind: "held", cut: Math.min(s.next, s.total), text })} needed />}
      {tool.value === "measured" && <Measured s={s} p={p} />}
      {tool.value === "run" && <TheRun s={s} />}
      {tool.value === "habits" && <Habits />}
    </footer>
  );
}

async function keep(event: Partial<BenchEvent> & Pick<BenchEvent, "kind">): Promise<boolean> {
  const ok = await act(() => event);
  toCount();
  return ok;
}

function Panel({ name, children }: { name: string; children: ComponentChildren }) {
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => {
    box.current?.querySelector<HTMLElement>("input, select, button")?.focus();
    box.current?.scrollIntoView({ block: "nearest" });
  }, []);
  return <div class="panel" role="group" aria-label={name} ref={box} onKeyDown={(e) => { if (e.key === "Escape") { e.stopPropagation(); close(); } }}>{children}</div>;
}

function close(which?: Tool): void {
  if (which && tool.value !== which) return; // another was opened meanwhile
  tool.value = "";
  learning.value = false;
  toCount();
}

/** Words that are kept with the run. */
function Words({ name, button, choices = [], keep: made, needed }: { name: string; button: string; choices?: string[]; needed?: boolean; keep: (text: string) => Partial<BenchEvent> & Pick<BenchEvent, "kind"> }) {
  const [text, setText] = useState("");
  const done = async (e: Event) => {
    e.preventDefault();
    if (needed && !text.trim()) { told.value = "Say it in a word or two, for whoever reads the run later."; return; }
    const mine = tool.value;
    if (await act(() => made(text.trim()))) { told.value = "Kept."; close(mine); }
  };
  return (
    <Panel name={name}>
      <form class="row says" onSubmit={(e) => void done(e)}>
        <label class="grow">{name} <input class="entry long" maxLength={2000} value={text} onInput={(e) => setText(e.currentTarget.value)} /></label>
        <button type="submit" class="word strong">{button}</button>
        <button type="button" class="word" onClick={() => close()}>not now</button>
      </form>
      {choices.length > 0 && <p class="words">{choices.map((c) => <button key={c} type="button" class="word" onClick={() => setText(c)}>{c}</button>)}</p>}
    </Panel>
  );
}

/** A width measured under the microscope. */
function Measured({ s, p }: { s: Shown; p: Program }) {
  const [cut, setCut] = useState(String(Math.min(s.total, Math.max(1, s.next - 1))));
  const [width, setWidth] = useState(""), [reading, setReading] = useState(""), [piece, setPiece] = useState("");
  const [wrong, setWrong] = useState("");
  const field = useRef<HTMLInputElement>(null);
  const pieces = p.cuts[Number(cut) - 1]?.spans?.length ?? 1;
  const done = async (e: Event) => {
    e.preventDefault();
    const number = (t: string) => Number(t.trim().replace(",", ".").replace(/\u2212/g, "-"));
    const n = number(cut), w = number(width), r = reading.trim() ? number(reading) : undefined;
    if (!Number.isInteger(n) || n < 1 || n > s.total) { setWrong(`There is no cut ${cut}; the run has ${s.total}.`); return; }
    if (!(w > 0 && w < 10_000)) { setWrong("Give the width in µm, a number above 0."); return; }
    if (r !== undefined && !Number.isFinite(r)) { setWrong("The reading is no number."); return; }
    if (await act(() => ({ kind: "measured", cut: n, width_um: w, reading: r !== undefined && p.reading_unit === "in" ? r * 25.4 : r, piece: piece ? Number(piece) : undefined }))) {
      told.value = `Kept: cut ${n} is ${w} µm wide.`;
      setWrong("");
      setWidth("");
      field.current?.focus(); // the next reading
    }
  };
  return (
    <Panel name="Width measured">
      <form class="row says" onSubmit={(e) => void done(e)}>
        <label>Cut <input class="entry short" inputMode="numeric" value={cut} onInput={(e) => setCut(e.currentTarget.value)} /></label>
        {pieces > 1 && <label>piece <select class="entry" value={piece} onChange={(e) => setPiece(e.currentTarget.value)}><option value="">any</option>{Array.from({ length: pieces }, (_, i) => <option key={i} value={i + 1}>{i + 1}</option>)}</select></label>}
        <label>at reading <input class="entry short" inputMode="decimal" value={reading} onInput={(e) => setReading(e.currentTarget.value)} /> {p.reading_unit}</label>
        <label>width <input class="entry short" ref={field} inputMode="decimal" value={width} onInput={(e) => setWidth(e.currentTarget.value)} /> µm</label>
        <button type="submit" class="word strong">Keep the width</button>
        <button type="button" class="word" onClick={() => close()}>done</button>
        <span class="quiet">{s.measured ? `${s.measured} kept so far.` : ""}</span>
      </form>
      {wrong && <p class="wrong-word" role="alert">{wrong}</p>}
    </Panel>
  );
}

/** How the run stands, and its end. */
function TheRun({ s }: { s: Shown }) {
  const ended = s.state === "finished" || s.state === "abandoned";
  const end = (kind: "finished" | "abandoned") => void act(() => ({ kind })).then((ok) => { if (ok) { told.value = `The run is ${kind}.`; close("run"); } });
  return (
    <Panel name="The run">
      <p>{s.counted} of {s.total} cuts counted, {s.measured ?? 0} widths measured. Begun {new Date(s.started).toLocaleString()}.
        {s.changed && " The job’s file has been changed since; this run goes by the job as it was at its start."}</p>
      {!!s.skipped?.length && <ul class="plain">{s.skipped.map((x) => <li key={x.cut}>Cut {x.cut} is skipped: {x.text || "no reason given"}. {!ended && <button type="button" class="word" onClick={() => void keep({ kind: "done", cut: x.cut })}>It is cut now</button>}</li>)}</ul>}
      {!!s.unwitnessed?.length && <p>Nobody counted {s.unwitnessed.length === 1 ? `cut ${s.unwitnessed[0]}` : `${s.unwitnessed.length} cuts from ${s.unwitnessed[0]} on`}; the dials told that they are made.</p>}
      {!!s.notes?.length && <ul class="plain notes">{s.notes.map((n, i) => <li key={i}>{n.cut ? `Cut ${n.cut}: ` : ""}{n.text}{n.device ? <span class="quiet"> ({n.device})</span> : null}</li>)}</ul>}
      <p class="row says">
        {ended ? <button type="button" class="word strong" onClick={() => void keep({ kind: "reopened" })}>Take the run up again</button> : (
          <>
            {s.next > s.total && <Hold name="Finish the run" strong explain="Hold the button until the ring is full to finish the run." onHeld={() => end("finished")} />}
            <Hold name="Abandon the run" explain="Hold the button until the ring is full to abandon the run. What was counted stays, and it may be taken up again." onHeld={() => end("abandoned")} />
          </>
        )}
        <button type="button" class="word" onClick={() => close()}>close</button>
      </p>
    </Panel>
  );
}

/** How this device behaves. */
function Habits() {
  const h = habits.value;
  return (
    <Panel name="Pedal, sound, screen">
      <p class="row says">
        <span>Space, Enter and Page Down count, and a click or tap{h.key ? <>, and <kbd>{keyName(h.key)}</kbd></> : null}.{" "}
          <button type="button" class="word strong" aria-pressed={learning.value} onClick={(e) => { learning.value = true; e.currentTarget.blur(); }}>{learning.value ? "Press the pedal now …" : "Teach another key"}</button>
          {h.key && <> <button type="button" class="word" onClick={() => setHabit({ key: "" })}>forget it</button></>}</span>
        <label>Strokes closer than <input class="entry short" type="number" min="0" max="60" step="0.1" value={h.twice || ""} placeholder={tooClose.value.toFixed(1)} onInput={(e) => setHabit({ twice: Math.max(0, Number(e.currentTarget.value) || 0) })} /> s are asked about{h.twice ? "" : ", by the pace"}.</label>
        <label>Ask for the dials after <input class="entry short" type="number" min="1" max="1000" value={h.breakMinutes} onInput={(e) => setHabit({ breakMinutes: Math.max(1, Number(e.currentTarget.value) || 10) })} /> min without a count.</label>
      </p>
      <p class="row says">
        <label><input type="checkbox" checked={h.tick} onChange={(e) => { setHabit({ tick: e.currentTarget.checked }); sound("counted"); }} /> a tick for each count</label>
        {canSpeak && <label><input type="checkbox" checked={h.spoken} onChange={(e) => setHabit({ spoken: e.currentTarget.checked })} /> say aloud what changes</label>}
        <label><input type="checkbox" checked={h.awake} onChange={(e) => setHabit({ awake: e.currentTarget.checked })} /> keep the screen awake</label>
        <label>This screen is called <input class="entry" maxLength={40} placeholder="nothing yet" value={h.name} onChange={(e) => setHabit({ name: e.currentTarget.value.trim() })} /></label>
        <button type="button" class="word" onClick={() => close()}>close</button>
      </p>
    </Panel>
  );
}
