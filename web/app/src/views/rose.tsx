// The light rose beside the piece: how bright the pattern is for every place of the lamp.
import { useEffect, useRef, useState } from "preact/hooks";
import { api, type Looked } from "../api";
import { lamp, sceneQuery, setLamp } from "../piece";
import { job } from "../store";

const size = 300, middle = size / 2, radius = 116;

export function Rose() {
  const [open, setOpen] = useState(false);
  return (
    <details class="keys rose" onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>How it takes the light</summary>
      {open && <Chart />}
    </details>
  );
}

function Chart() {
  const j = job.value!;
  const [seen, setSeen] = useState<Looked | null>(null), [why, setWhy] = useState("");
  const q = JSON.stringify([j.id, j.digest, { ...sceneQuery.value, upto: undefined }]);
  useEffect(() => {
    if (!j.digest) return;
    let gone = false;
    // The lamp may still be moving.
    const t = window.setTimeout(() => {
      api.rose(j.id, { ...sceneQuery.value, upto: undefined, digest: j.digest }).then((r) => { if (!gone) { setSeen(r); setWhy(""); } }, (e) => { if (!gone) setWhy(e instanceof Error ? e.message : String(e)); });
    }, 250);
    return () => { gone = true; window.clearTimeout(t); };
  }, [q]);
  if (why) return <p class="quiet">{why}</p>;
  if (!seen) return <p class="quiet" role="status">Following the light…</p>;
  return (
    <div class="takes">
      <Petals of={seen} />
      <div>{seen.sentences.slice(1).map((s) => <p key={s}>{s}</p>)}
        <p class="quiet">The rose is seen from above: round it the direction of the lamp, from the rim, on the horizon, to the middle, overhead, its height; the lighter, the brighter the cuts are under the lamp alone. Press a place to put the lamp there.</p></div>
    </div>
  );
}

function Petals({ of }: { of: Looked }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const l = lamp.value, r = of.rose;
  useEffect(() => {
    const c = canvas.current!, g = c.getContext("2d");
    if (!g) return;
    const ratio = Math.min(window.devicePixelRatio || 1, 2);
    c.width = c.height = size * ratio;
    g.setTransform(ratio, 0, 0, ratio, 0, 0);
    const top = Math.max(1e-9, ...r.brightness.flat());
    const da = Math.PI / r.azimuths_deg.length, dh = 45 / r.heights_deg.length;
    r.brightness.forEach((row, k) => {
      const outer = (90 - r.heights_deg[k]! + dh) / 90 * radius, inner = Math.max(0, (90 - r.heights_deg[k]! - dh) / 90 * radius);
      row.forEach((v, i) => {
        const a = -r.azimuths_deg[i]! * Math.PI / 180, t = Math.sqrt(v / top);
        g.fillStyle = `rgb(${Math.round(30 + t * 216)},${Math.round(31 + t * 207)},${Math.round(36 + t * 184)})`;
        g.beginPath();
        g.arc(middle, middle, outer, a - da - 0.004, a + da + 0.004);
        g.arc(middle, middle, inner, a + da + 0.004, a - da - 0.004, true);
        g.fill();
      });
    });
    g.strokeStyle = "rgba(242,239,232,0.3)";
    g.lineWidth = 1;
    for (const h of [0, 30, 60]) { g.beginPath(); g.arc(middle, middle, (90 - h) / 90 * radius, 0, 2 * Math.PI); g.stroke(); }
    g.fillStyle = "#f2efe8";
    g.font = "13px system-ui, sans-serif";
    g.textAlign = "center";
    g.textBaseline = "middle";
    for (const a of [0, 90, 180, 270]) g.fillText(`${a}\u00b0`, middle + (radius + 18) * Math.cos(a * Math.PI / 180), middle - (radius + 16) * Math.sin(a * Math.PI / 180));
    const at = (azimuth: number, height: number): [number, number] => {
      const out = (90 - height) / 90 * radius, a = azimuth * Math.PI / 180;
      return [middle + out * Math.cos(a), middle - out * Math.sin(a)];
    };
    const [bx, by] = at(r.best.azimuth_deg, r.best.height_deg);
    for (const [colour, width] of [["rgba(10,10,12,0.9)", 4], ["#f2efe8", 1.8]] as const) {
      g.strokeStyle = colour;
      g.lineWidth = width;
      g.beginPath();
      g.moveTo(bx - 6, by); g.lineTo(bx + 6, by); g.moveTo(bx, by - 6); g.lineTo(bx, by + 6);
      g.stroke();
    }
    const [x, y] = at(l.azimuth, l.height);
    for (const [colour, width] of [["rgba(10,10,12,0.9)", 5], ["#e8b15c", 2.2]] as const) {
      g.strokeStyle = colour;
      g.lineWidth = width;
      g.beginPath();
      g.arc(x, y, 7, 0, 2 * Math.PI);
      g.stroke();
    }
  }, [of, l]);
  const put = (e: { clientX: number; clientY: number; currentTarget: HTMLCanvasElement }) => {
    const b = e.currentTarget.getBoundingClientRect();
    const dx = (e.clientX - b.left) * size / b.width - middle, dy = middle - (e.clientY - b.top) * size / b.height;
    setLamp(Math.atan2(dy, dx) * 180 / Math.PI, 90 - Math.min(1, Math.hypot(dx, dy) / radius) * 90);
  };
  return (
    <canvas ref={canvas} class="petals" role="img" onClick={put}
      aria-label={`Light rose. The cuts are brightest with the lamp at ${Math.round(r.best.azimuth_deg)} degrees, ${Math.round(r.best.height_deg)} degrees high; the lamp stands at ${Math.round(l.azimuth)} degrees, ${Math.round(l.height)} degrees high.`} />
  );
}
