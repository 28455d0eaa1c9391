// The stock's readings, and what they say of the truing chuck's screws.
import { useEffect, useState } from "preact/hooks";
import { api, Problem, type Truing } from "../api";
import { job, order, told } from "../store";
import { fine, inShown } from "../units";

/** Readings of the indicator, pasted or dropped. */
export function Readings() {
  const j = job.value!;
  const [text, setText] = useState("");
  const [faults, setFaults] = useState<string[]>([]);
  const [over, setOver] = useState(false);
  const send = async () => {
    setFaults([]);
    try {
      await api.readings(j.id, text, true);
      await order({ id: j.id, do: "ask", send: () => api.readings(j.id, text, false) });
      setText("");
      told.value = "The readings are the stock's now.";
    } catch (e) {
      setFaults(e instanceof Problem && e.body.faults?.length ? e.body.faults.map((f) => `${f.line ? `Line ${f.line}: ` : ""}${f.problem}. ${f.mend ?? ""}`) : [(e as Error).message]);
    }
  };
  const drop = (e: DragEvent) => {
    e.preventDefault();
    setOver(false);
    const f = e.dataTransfer?.files[0];
    if (f && f.size > 8 << 20) setFaults(["The file is larger than readings can be (8 MiB)."]);
    else if (f) void f.text().then(setText);
    else setText(e.dataTransfer?.getData("text") ?? "");
  };
  return (
    <details class="readings" open={!!text || undefined}>
      <summary>Readings of the stock</summary>
      <p class="quiet">Paste or drop what the indicator read: a line for each place, x, y and the reading, with a first line that names the columns and their units.</p>
      <textarea class={`text${over ? " over" : ""}`} rows={6} aria-label="Readings as a table" spellcheck={false} placeholder={"x mm, y mm, z um\n-10, -5, 12\n…"} value={text}
        onInput={(e) => setText(e.currentTarget.value)} onDragOver={(e) => { e.preventDefault(); setOver(true); }} onDragLeave={() => setOver(false)} onDrop={drop} />
      {faults.length > 0 && <div class="faults" role="alert">{faults.slice(0, 8).map((f) => <p key={f}>{f}</p>)}</div>}
      <p><button type="button" class="word strong" disabled={!text.trim()} onClick={() => void send()}>Take these readings</button></p>
    </details>
  );
}

/** The chuck with its screws, each with its turn. */
export function TruingChuck() {
  const j = job.value!;
  const [t, setT] = useState<Truing | null>(null);
  useEffect(() => {
    let off = false;
    if (!j.values?.some((v) => v.path.startsWith("stock"))) { setT(null); return; }
    api.truing(j.id, j.digest).then((x) => { if (!off) setT(x); }, () => { if (!off) setT(null); });
    return () => { off = true; };
  }, [j.id, j.digest]);
  if (!t?.turns?.length) return null;
  const o = j.outline, screws = t.screws ?? [];
  const reach = Math.max(o ? Math.max(o.width_mm, o.height_mm) / 2 : 10, ...screws.map((s) => Math.hypot(s.x, s.y))) * 1.25;
  return (
    <>
      <h3>Truing the blank</h3>
      <div class="truing">
        {screws.length > 0 && (
          <svg viewBox={`${-reach} ${-reach} ${2 * reach} ${2 * reach}`} role="img" aria-label="The chuck seen from above, with its screws" class="chuck">
            <circle r={reach * 0.96} class="body" />
            {o?.loops.map((l, i) => <path key={i} class="work" d={l.map(([x, y], k) => `${k ? "L" : "M"}${x.toFixed(2)} ${(-y).toFixed(2)}`).join("") + "Z"} />)}
            {screws.map((s) => {
              const turn = t.turns!.find((q) => q.screw === s.name || q.screw.startsWith(`${s.name} `));
              return <g key={s.name} transform={`translate(${s.x} ${-s.y})`}><circle class="screw" r={reach * 0.07} />
                <text font-size={reach * 0.09} y={reach * 0.17} text-anchor="middle">{s.name}</text>
                {turn?.parts !== undefined && <text font-size={reach * 0.09} y={-reach * 0.1} text-anchor="middle" class="turns">{turn.parts > 0 ? "+" : turn.parts < 0 ? "\u2212" : ""}{Math.abs(turn.parts)}{turn.division ? `/${turn.division}` : ""}</text>}</g>;
            })}
          </svg>
        )}
        <div>
          <ul class="plain">{t.turns.map((q) => <li key={q.screw}>{q.text.charAt(0).toUpperCase() + inShown(q.text).slice(1)}.</li>)}</ul>
          {t.before && t.after && <p>The work runs out by {fine(t.before.peak_to_valley_um)} now; after this, by {fine(t.after.peak_to_valley_um)}{t.best ? `, and by ${fine(t.best.peak_to_valley_um)} were the screws without divisions` : ""}.</p>}
          {t.remarks?.map((r, i) => <p key={i}>{inShown(r)}</p>)}
        </div>
      </div>
    </>
  );
}
