// Depth: where the depth goes over the work and cut by cut, and what holds it.
import { useEffect, useMemo, useState } from "preact/hooks";
import { api, type DepthPlaces, type DepthPlan } from "../api";
import { job, pointed, shownUnits, told } from "../store";
import { fine, inShown } from "../units";
import { Chart } from "./chart";
import { Readings, TruingChuck } from "./truing";

export function Depth() {
  const j = job.value!;
  const [plan, setPlan] = useState<DepthPlan | null>(null);
  const [why, setWhy] = useState("");
  const [cut, setCut] = useState(1);
  useEffect(() => {
    let off = false;
    setWhy("");
    api.depth(j.id, j.digest).then((p) => { if (!off) setPlan(p); }, (e: Error) => { if (!off) { setPlan(null); setWhy(e.message); } });
    return () => { off = true; };
  }, [j.id, j.digest]);
  return (
    <section class="depth" aria-labelledby="depth-title">
      <h2 id="depth-title">Depth</h2>
      {!plan && <p class="waiting">{why ? `There is no plan of the depth: ${why}` : "Working out the depth …"}</p>}
      {plan && <>
        <Sentences plan={plan} />
        <Map digest={j.digest} id={j.id} />
        <Widths plan={plan} cut={cut} pick={setCut} />
        <Ground id={j.id} digest={j.digest} cut={cut} count={plan.cuts?.length ?? 0} pick={setCut} />
        <Compared plan={plan} />
      </>}
      <Readings />
      <TruingChuck />
    </section>
  );
}

function Sentences({ plan }: { plan: DepthPlan }) {
  const holds = plan.holds ?? [];
  const all = [...(plan.choices ?? []), ...(holds.length > 1 ? holds : [])];
  if (!all.length) return null;
  return <div class="sentences">{all.map((s, i) => <p key={i} onPointerEnter={() => { if (s.first) pointed.value = s.first; }} onPointerLeave={() => { pointed.value = 0; }}>{whole(inShown(s.text))}</p>)}</div>;
}

/** A sentence from its capital to its full stop. */
function whole(text: string): string {
  const s = text.charAt(0).toUpperCase() + text.slice(1);
  return /[.!?]$/.test(s) ? s : s + ".";
}

function Map({ id, digest }: { id: string; digest?: string }) {
  const [map, setMap] = useState<{ scale: number[]; picture: string } | null>(null);
  useEffect(() => {
    let off = false, url = "";
    api.depthMap(id, 640, digest).then((m) => { url = m.picture; if (off) URL.revokeObjectURL(url); else setMap(m); }, () => setMap(null));
    return () => { off = true; if (url) URL.revokeObjectURL(url); };
  }, [id, digest]);
  if (!map) return null;
  const [least, wished, greatest] = map.scale;
  return (
    <figure class="map">
      <img src={map.picture} alt={least !== undefined && greatest !== undefined ? `Map of the predicted width over the work, from ${fine(least)} to ${fine(greatest)}; wished ${fine(wished ?? 0)}` : "Map of the predicted width over the work"} />
      <figcaption>The width that is to be expected, over the work.{least !== undefined && Number.isFinite(least) && <> Light grey is as wished, {fine(wished!)}; the darker the blue, the narrower, to {fine(least)}; the darker the orange, the wider, to {fine(greatest!)}.</>}</figcaption>
    </figure>
  );
}

function Widths({ plan, cut, pick }: { plan: DepthPlan; cut: number; pick: (n: number) => void }) {
  const list = plan.cuts ?? [];
  const unit = shownUnits.value === "inch" ? 25.4 : 1;
  const data = useMemo(() => ({
    x: list.map((c) => c.number),
    lines: [
      { label: unit === 1 ? "width, µm" : "width, thou", values: list.map((c) => c.width_um ? c.width_um.mean / unit : null), width: 2 },
      { label: "widest place", values: list.map((c) => c.width_um ? c.width_um.max / unit : null), dash: [4, 4] },
      { label: "narrowest place", values: list.map((c) => c.width_um ? c.width_um.min / unit : null), dash: [2, 4] },
    ],
  }), [plan, unit]);
  if (!list.length) return null;
  return (
    <>
      <h3>Width, cut by cut</h3>
      <Chart label="Width of the groove, cut by cut" height={220} x={data.x} xLabel="cut, in the plan's order" lines={data.lines}
        onPoint={(i) => { pointed.value = i === null ? 0 : list[i]?.written ?? 0; }} onPick={(i) => { const c = list[i]; if (c) pick(c.number); }} />
      <p class="quiet">Solid: the mean along the cut; dashed: its widest and narrowest place. Point at a cut to see it lit on the piece, pick it to look under the guide. In hand: cut{" "}
        <input class="entry" type="number" min={1} max={list.length} aria-label="Cut in hand" value={cut} onFocus={() => { pointed.value = list[cut - 1]?.written ?? 0; }} onBlur={() => { pointed.value = 0; }}
          onInput={(e) => { const v = e.currentTarget.valueAsNumber; if (v >= 1 && v <= list.length) { pick(v); pointed.value = list[v - 1]?.written ?? 0; } }} />.</p>
    </>
  );
}

function Ground({ id, digest, cut, count }: { id: string; digest?: string; cut: number; count: number; pick: (n: number) => void }) {
  const [places, setPlaces] = useState<DepthPlaces | null>(null);
  useEffect(() => {
    if (!count) return;
    let off = false;
    const t = window.setTimeout(() => {
      api.depthPlaces(id, cut, digest).then((p) => { if (!off) setPlaces(p); }, (e: Error) => { if (!off) { setPlaces(null); told.value = e.message; } });
    }, 80);
    return () => { off = true; window.clearTimeout(t); };
  }, [id, digest, cut, count]);
  const unit = shownUnits.value === "inch" ? 25.4 : 1;
  const data = useMemo(() => places && ({
    x: places.at.map((v) => v / unit),
    lines: [
      { label: "ground under the guide", values: places.ground_um.map((v) => Number.isFinite(v) ? v / unit : null), width: 2 },
      { label: "stock", values: places.stock_um.map((v) => v / unit), dash: [3, 4] },
      { label: "tip of the cutter", values: places.tip_um.map((v) => v / unit), colour: "#8fb8de" },
    ],
  }), [places, unit]);
  if (!data) return null;
  return (
    <>
      <h3>Under the guide, along cut {cut}</h3>
      <Chart label={`Ground under the guide along cut ${cut}`} height={200} x={data.x} xLabel={unit === 1 ? "along the stroke, mm" : "along the stroke, in"} yLabel={unit === 1 ? "height, µm" : "height, thou"} lines={data.lines} />
      <p class="quiet">Solid: what the guide's foot stands on; dotted: the stock before it was cut; blue: the cutter's tip.</p>
    </>
  );
}

function Compared({ plan }: { plan: DepthPlan }) {
  if (!plan.compared?.length) return null;
  const tolerance = `±${Number((100 * (plan.tolerance ?? 0.05)).toFixed(1))} %`;
  return (
    <>
      <h3>Guide, stop and plan beside each other</h3>
      <div class="wide"><table>
        <thead><tr><th scope="col">held by</th><th scope="col">width</th><th scope="col">largest step</th><th scope="col">within {tolerance}</th></tr></thead>
        <tbody>{plan.compared.map((c) => (
          <tr key={c.way}><th scope="row">{c.way}</th>
            <td>{c.width_um ? `${fine(c.width_um.min)} to ${fine(c.width_um.max)}` : "not known"}</td>
            <td>{c.step_um !== undefined ? `${fine(c.step_um)}${c.step_to ? ` at cut ${c.step_to}` : ""}` : ""}</td>
            <td>{c.within !== undefined ? `${(100 * c.within).toFixed(c.within > 0.995 && c.within < 1 ? 1 : 0)} % of the way` : ""}</td></tr>
        ))}</tbody>
      </table></div>
    </>
  );
}

