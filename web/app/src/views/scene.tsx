// What the piece is made of, where it lies and how it leans, in sentences.
import { useEffect, useState } from "preact/hooks";
import { lean, leanMost, recipe, rocking, scene, setLean, usual, type Scene } from "../piece";
import { job, told } from "../store";
import { degrees } from "../units";
import words from "../words.json";

interface Word { name: string; about?: string }

/** A choice of words; the first leaves it as the job has it. */
function Choose({ label, of, own, list, also }: { label: string; of: "metal" | "land" | "enamel" | "room" | "light"; own: string; list: Word[]; also?: [string, string][] }) {
  return (
    <select class="entry" aria-label={label} value={scene.value[of]} onChange={(e) => { scene.value = { ...scene.value, [of]: e.currentTarget.value } as Scene; }}>
      <option value="">{own}</option>
      {(also ?? []).map(([value, name]) => <option key={value} value={value}>{name}</option>)}
      {list.map((w) => <option key={w.name} value={w.name} title={w.about}>{w.name}</option>)}
    </select>
  );
}

/** The scene as one sentence. */
export function SceneWords() {
  const j = job.value!, told = recipe.value?.scene ?? "";
  const own = (pattern: RegExp, otherwise: string) => pattern.exec(told)?.[1] ?? otherwise;
  return (
    <>
      Seen in <Choose label="Metal" of="metal" own={j.metal ?? "its own metal"} list={words.metals} />
      , ground <Choose label="Finish of the ground" of="land" own={scene.value.land ? "as the job has it" : own(/ground (\w+)/, "as the job has it")} list={words.lands} />
      , enamel <Choose label="Enamel" of="enamel" own={scene.value.enamel ? "as the job has it" : own(/under (\w+) enamel/, "none")} list={words.enamels} also={scene.value.enamel || told.includes(" enamel ") ? [["none", "none"]] : []} />
      , in the <Choose label="Room" of="room" own="workshop" list={words.rooms.slice(1)} />
      , lamp <Choose label="Light of the lamp" of="light" own={scene.value.light ? "as in the room" : own(/, ([\w ]+) lamp from/, "none")} list={words.lamps} also={[["off", "off"], ["on", "on"]]} />
{" "}<Amount label="How wide the lamp looks" unit="degrees wide" of="wide" least={1.2} most={68} />
      , eye at <Amount label="Distance of the eye" unit="mm" of="eye" least={10} most={10000} />
      , exposure <Amount label="Exposure" unit="stops" of="exposure" least={-8} most={8} />
    </>
  );
}

function Amount({ label, unit, of, least, most }: { label: string; unit: string; of: "wide" | "eye" | "exposure"; least: number; most: number }) {
  return (
    <><input class="entry short" inputMode="decimal" aria-label={`${label}, ${unit}`} value={String(scene.value[of])} size={5}
      onChange={(e) => {
        const v = Number(e.currentTarget.value.replace(",", ".").replace(/[^0-9.\-]/g, ""));
        if (Number.isFinite(v) && v >= least && v <= most && e.currentTarget.value.trim()) scene.value = { ...scene.value, [of]: v };
        else {
          told.value = `${label}: give ${least} to ${most} ${unit}.`;
          e.currentTarget.value = String(scene.value[of]);
        }
      }} /> {unit}</>
  );
}

type Asking = { requestPermission?: () => Promise<"granted" | "denied"> };

/** How the piece leans, by sliders, by hand or by the tablet's own sense. */
export function Leaning() {
  const l = lean.value;
  const [held, setHeld] = useState(false);
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  useEffect(() => {
    if (!held) return;
    // As it is held when this begins counts as level.
    let level: [number, number] | null = null;
    const turn = (e: DeviceOrientationEvent) => {
      if (e.beta === null || e.gamma === null) return;
      level ??= [e.beta, e.gamma];
      // Told along the tablet's own edges, which the screen may be turned against.
      const top = level[0] - e.beta, right = e.gamma - level[1], turned = screen.orientation?.angle ?? 0;
      setLean(Math.hypot(top, right), Math.atan2(top, right) * 180 / Math.PI + turned);
    };
    window.addEventListener("deviceorientation", turn);
    return () => window.removeEventListener("deviceorientation", turn);
  }, [held]);
  const hold = async () => {
    const sense = (window as unknown as { DeviceOrientationEvent?: Asking }).DeviceOrientationEvent;
    if (!held && sense?.requestPermission && await sense.requestPermission().catch(() => "denied") !== "granted") {
      told.value = "The tablet keeps its sense of tilt to itself.";
      return;
    }
    setHeld(!held);
  };
  return (
    <div class="row leaning">
      <label class="slide">Leaned by <output>{degrees(l.tilt)}</output>
        <input type="range" min={0} max={leanMost} step={0.5} value={l.tilt} aria-valuetext={`${Math.round(l.tilt)} degrees`}
          onInput={(e) => setLean(e.currentTarget.valueAsNumber, lean.value.toward)} /></label>
      <label class="slide">toward <output>{degrees(l.toward)}</output>
        <input type="range" min={0} max={359} step={1} value={Math.round(l.toward)} aria-valuetext={`${Math.round(l.toward)} degrees round the work goes down`}
          onInput={(e) => setLean(lean.value.tilt, e.currentTarget.valueAsNumber)} /></label>
      <span class="words">
        <button type="button" class="word" aria-pressed={rocking.value} onClick={() => { rocking.value = !rocking.value; }}>{rocking.value ? "the hand moves the lamp again" : "rock it by hand"}</button>
        {"DeviceOrientationEvent" in window && matchMedia("(pointer: coarse)").matches && !still &&
          <button type="button" class="word" aria-pressed={held} onClick={hold}>{held ? "hold it still" : "rock it with the tablet"}</button>}
        {(l.tilt > 0 || JSON.stringify(scene.value) !== JSON.stringify(usual)) &&
          <button type="button" class="word" onClick={() => { setLean(0, 0); scene.value = { ...usual }; rocking.value = false; }}>as the job has it</button>}
      </span>
    </div>
  );
}
