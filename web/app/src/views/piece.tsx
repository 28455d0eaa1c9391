// The piece itself, large, in moving light.
import { useEffect, useRef, useState } from "preact/hooks";
import { api, type CutFacts } from "../api";
import { camera, drawingLine, lamp, lampKey, lampTo, line, look, lowestLamp, recipe, rocking, scene, sceneQuery, setLamp, setLean, shown, withoutLight, atRest } from "../piece";
import { Stage } from "../gl/stage";
import { cuts, job, pointed, told, upto } from "../store";
import { degrees, inShown } from "../units";
import { Across } from "./across";
import { Rose } from "./rose";
import { SceneWords, Leaning } from "./scene";

export function Piece() {
  const box = useRef<HTMLDivElement>(null), canvas = useRef<HTMLCanvasElement>(null), over = useRef<HTMLCanvasElement>(null);
  const stage = useRef<Stage | null>(null);
  useEffect(() => {
    if (withoutLight.value) return;
    try {
      stage.current = new Stage(box.current!, canvas.current!, over.current!);
    } catch (e) {
      withoutLight.value = e instanceof Error ? e.message : String(e);
    }
    const lost = (e: Event) => { e.preventDefault(); withoutLight.value = "the graphics card gave up; load the page anew to try again"; };
    canvas.current?.addEventListener("webglcontextlost", lost);
    const c = canvas.current;
    return () => {
      c?.removeEventListener("webglcontextlost", lost);
      stage.current?.close();
      stage.current = null;
    };
  }, []);
  const j = job.value;
  if (!j) return null;
  return (
    <section class={`piece${drawingLine.value || line.value ? " measuring" : ""}`} aria-label="Piece">
      <div class={`stage${drawingLine.value ? " drawing" : ""}`} ref={box} tabIndex={0} role="application" aria-roledescription="piece under a lamp"
        aria-label={`${j.title}, ${inWords()}. Arrows move the lamp, with Shift further; Home sets it back; plus and minus come nearer and go back, 0 shows the whole piece, Control with arrows moves the view.`}
        onKeyDown={(e) => { if (lampKey(e)) e.preventDefault(); }}
        onPointerMove={(e) => { if (withoutLight.value && !rocking.value) { const r = e.currentTarget.getBoundingClientRect(); lampTo(e.clientX - r.left, e.clientY - r.top, r.width, r.height); } }}
        onKeyUp={(e) => { if (e.key.startsWith("Arrow") || e.key === "Home") told.value = `Lamp from ${degrees(lamp.value.azimuth)}, ${degrees(lamp.value.height)} above the work.`; }}>
        {withoutLight.value ? <Still /> : <><canvas ref={canvas} data-layers={shown.value.layers} data-kept={shown.value.kept} data-digest={shown.value.digest} data-frames={shown.value.frames} data-scale={camera.value.scale} data-x={camera.value.x} data-y={camera.value.y} data-scene={recipe.value?.scene} /><canvas ref={over} class="over" /></>}
        <Pointed />
      </div>
      {(drawingLine.value || line.value) && <Across />}
      <Controls stage={stage} />
    </section>
  );
}

function inWords(): string {
  const j = job.value!;
  return `${scene.value.metal || (j.metal ?? "metal")}, ${cuts.value?.count ?? 0} cuts`;
}

/** The server's picture, where the browser cannot draw the piece itself. */
function Still() {
  const j = job.value!;
  const [at, setAt] = useState(sceneQuery.value);
  useEffect(() => {
    const t = window.setTimeout(() => setAt(sceneQuery.value), 150);
    return () => window.clearTimeout(t);
  }, [sceneQuery.value]);
  const q = { pixels: 900, ...at, digest: j.digest };
  return <><img class="still" alt={`${j.title}, drawn by the server`} src={api.picture(j.id, q)} /><p class="why">This is the server’s picture: {withoutLight.value}.</p></>;
}

// What cuts.json tells of the cuts, read when a cut is first pointed at.
let facts: { digest: string; cuts: CutFacts[] } = { digest: "", cuts: [] };

function Pointed() {
  const n = pointed.value, j = job.value!;
  const [, again] = useState(0);
  useEffect(() => {
    if (!n || !j.digest || facts.digest === j.digest) return;
    facts = { digest: j.digest, cuts: [] };
    api.cutFacts(j.id, j.digest).then((f) => { facts.cuts = f.cuts; again((k) => k + 1); }, () => { facts.digest = ""; });
  }, [n, j.digest]);
  if (!n) return null;
  const f = facts.digest === j.digest ? facts.cuts[n - 1] : undefined;
  return <p class="pointed" aria-hidden="true"><strong>Cut {n}</strong>{f ? ` · ${inShown(f.action)}` : ""}</p>;
}

function Controls({ stage }: { stage: { current: Stage | null } }) {
  const j = job.value!, l = lamp.value, count = cuts.value?.count ?? 0;
  return (
    <div class="controls">
      <div class="row">
        <label class="slide">Lamp from <output>{degrees(l.azimuth)}</output>
          <input type="range" min={0} max={359} step={1} value={Math.round(l.azimuth)} aria-valuetext={`${Math.round(l.azimuth)} degrees round the work`}
            onInput={(e) => setLamp(e.currentTarget.valueAsNumber, lamp.value.height)} /></label>
        <label class="slide">Lamp height <output>{degrees(l.height)}</output>
          <input type="range" min={lowestLamp} max={90} step={1} value={Math.round(l.height)} aria-valuetext={`${Math.round(l.height)} degrees above the work`}
            onInput={(e) => setLamp(lamp.value.azimuth, e.currentTarget.valueAsNumber)} /></label>
        <Sequence count={count} />
      </div>
      <p class="row says">
        <span><SceneWords />, drawn <select class="entry" aria-label="How it is drawn" value={look.value} onChange={(e) => { look.value = e.currentTarget.value as "metal"; }}>
          <option value="metal">as metal</option><option value="matte">matte</option><option value="lines">matte with lines</option>
        </select>.</span>
        <span class="words">
          <button type="button" class="word" onClick={() => stage.current?.zoom(1.6)}>nearer</button>
          <button type="button" class="word" onClick={() => stage.current?.zoom(1 / 1.6)}>farther</button>
          <button type="button" class="word" onClick={() => stage.current?.whole()}>whole piece</button>
          <button type="button" class="word" onClick={() => { setLamp(atRest.azimuth, atRest.height); setLean(0, 0); }}>lamp home</button>
          <button type="button" class="word" aria-pressed={drawingLine.value} onClick={() => { drawingLine.value = !drawingLine.value; if (!drawingLine.value) line.value = null; }}>
            {drawingLine.value ? "put the ruler away" : "measure across"}</button>
          <a class="word" download={`${j.id}.png`} href={api.picture(j.id, { dpi: 600, ...sceneQuery.value })}>picture to print</a>
        </span>
      </p>
      <Leaning />
      <Rose />
      <details class="keys">
        <summary>By hand and by keys</summary>
        <p class="quiet">The lamp follows the pointer, or one finger; while the piece is rocked by hand, a drag leans it instead. Drag with the mouse, or two fingers, to move the piece; the wheel brings it nearer.
          With the piece in focus: arrows move the lamp, with Shift further; Home sets it back; + and − come nearer and go back; 0 shows the whole piece; Control with arrows moves it.
          Control Z and Control Y undo and redo anywhere.</p>
      </details>
    </div>
  );
}

/** The piece after so many cuts, and the cutting of it. */
function Sequence({ count }: { count: number }) {
  const [going, setGoing] = useState(false);
  const k = Math.min(upto.value, count);
  useEffect(() => {
    if (!going) return;
    // The whole sequence in about twelve seconds, whatever its length.
    let stop = false, done = upto.value >= count ? 0 : upto.value, before = performance.now();
    const go = (t: number) => {
      if (stop) return;
      done += Math.max(0, t - before) * Math.max(count, 24) / 12000;
      before = t;
      upto.value = Math.min(count, Math.floor(done));
      if (done >= count) { upto.value = Infinity; setGoing(false); return; }
      requestAnimationFrame(go);
    };
    requestAnimationFrame(go);
    return () => { stop = true; };
  }, [going, count]);
  return (
    <div class="slide">
      <label>After cut <output>{k} of {count}</output>
        <input type="range" min={0} max={count} step={1} value={k} onInput={(e) => { const v = e.currentTarget.valueAsNumber; upto.value = v >= count ? Infinity : v; setGoing(false); }} /></label>
      <button type="button" class="word" onClick={() => setGoing(!going)}>{going ? "hold" : "cut it"}</button>
    </div>
  );
}
