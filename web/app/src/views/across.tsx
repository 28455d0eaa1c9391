// The ruler and the section: one line across the work tells distance, angle and heights.
import { useEffect, useRef, useState } from "preact/hooks";
import { api } from "../api";
import { line } from "../piece";
import { job, shownUnits } from "../store";
import { degrees, fine, length } from "../units";
import { Chart } from "./chart";

const samples = 800;

export function Across() {
  const l = line.value, j = job.value!;
  const [section, setSection] = useState<{ at: number[]; heights: number[] } | null>(null);
  const asked = useRef(0);
  useEffect(() => {
    if (!l || Math.hypot(l[2] - l[0], l[3] - l[1]) < 1e-4) { setSection(null); return; }
    const n = ++asked.current;
    const t = window.setTimeout(() => {
      api.section(j.id, l, samples, j.digest).then((s) => {
        if (n !== asked.current) return;
        const unit = shownUnits.value === "inch" ? 25.4 : 1;
        setSection({ at: s.heights_um.map((_, i) => i * s.length_mm / Math.max(1, s.heights_um.length - 1) / unit), heights: s.heights_um.map((h) => h / unit) });
      }, () => { if (n === asked.current) setSection(null); });
    }, 80);
    return () => window.clearTimeout(t);
  }, [l, j.digest, shownUnits.value]);
  const unit = shownUnits.value === "inch" ? 25.4 : 1;
  const end = (k: number, name: string) => (
    <input class="entry" type="number" step="any" aria-label={name} value={l ? Number((l[k]! / unit).toFixed(4)) : ""} size={8}
      onChange={(e) => {
        const next = [...(line.value ?? [0, 0, 0, 0])] as [number, number, number, number];
        const v = e.currentTarget.valueAsNumber;
        if (Number.isFinite(v)) { next[k] = v * unit; line.value = next; }
      }} />
  );
  const deep = section ? Math.max(...section.heights) - Math.min(...section.heights) : 0;
  return (
    <div class="across">
      <p>Draw a line on the piece, or say from ({end(0, "From, across")}, {end(1, "From, along")}) to ({end(2, "To, across")}, {end(3, "To, along")}) {unit === 1 ? "mm" : "in"}.
        {l && <>{" "}It is <strong>{length(Math.hypot(l[2] - l[0], l[3] - l[1]))}</strong> long, at <strong>{degrees(Math.atan2(l[3] - l[1], l[2] - l[0]) * 180 / Math.PI, 2)}</strong>
          {section && <>; the surface along it falls by <strong>{fine(deep * unit)}</strong></>}.</>}</p>
      {section && <Chart label="Section along the line" height={170} x={section.at} xLabel={unit === 1 ? "along the line, mm" : "along the line, in"}
        lines={[{ label: unit === 1 ? "height, µm" : "height, thou", values: section.heights }]} />}
    </div>
  );
}
