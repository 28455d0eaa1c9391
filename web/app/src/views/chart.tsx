// A chart with the trade's colours, drawn by uPlot.
import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";

export interface Line { label: string; values: (number | null)[]; dash?: number[]; colour?: string; fill?: string; width?: number }

interface Props {
  label: string; height: number; x: number[]; xLabel: string; yLabel?: string; lines: Line[];
  onPoint?: (index: number | null) => void; onPick?: (index: number) => void;
}

const ink = "#b9b4a8", faint = "rgba(255,255,255,0.09)", accent = "#e8b15c";

export function Chart(p: Props) {
  const box = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const hooks = useRef(p);
  hooks.current = p;
  const shape = p.lines.map((l) => l.label + (l.dash ?? "") + (l.colour ?? "")).join("|") + p.xLabel + p.yLabel;
  const data = () => [p.x, ...p.lines.map((l) => l.values)] as uPlot.AlignedData;
  useEffect(() => {
    const b = box.current!;
    const axis = (label: string): uPlot.Axis => ({ stroke: ink, grid: { stroke: faint, width: 1 }, ticks: { stroke: faint }, label, labelSize: 20, font: "13px system-ui, sans-serif", labelFont: "13px system-ui, sans-serif" });
    const u = new uPlot({
      width: Math.max(200, b.clientWidth), height: p.height, legend: { show: false },
      scales: { x: { time: false } }, padding: [10, 12, 0, 0],
      cursor: { y: false, drag: { x: false, y: false }, points: { size: 7 } },
      axes: [{ ...axis(p.xLabel), size: 34 }, { ...axis(p.yLabel ?? p.lines[0]?.label ?? ""), size: 54 }],
      series: [{}, ...p.lines.map((l, i) => ({ label: l.label, stroke: l.colour ?? (i === 0 ? accent : ink), width: l.width ?? 1.5, dash: l.dash, fill: l.fill, points: { show: false } }))],
      hooks: { setCursor: [(v) => hooks.current.onPoint?.(v.cursor.idx ?? null)] },
    }, data(), b);
    plot.current = u;
    const click = () => { const i = u.cursor.idx; if (i != null) hooks.current.onPick?.(i); };
    u.over.addEventListener("click", click);
    const sized = new ResizeObserver(() => u.setSize({ width: Math.max(200, b.clientWidth), height: p.height }));
    sized.observe(b);
    return () => { sized.disconnect(); u.destroy(); plot.current = null; };
  }, [shape, p.height]);
  useEffect(() => { plot.current?.setData(data()); }, [p.x, p.lines]);
  return <div class="chart" role="img" aria-label={`${p.label}: ${spoken(p)}`} ref={box} />;
}

/** A chart in words: the least and greatest of each line. */
function spoken(p: Props): string {
  return p.lines.map((l) => {
    const v = l.values.filter((x): x is number => x !== null && Number.isFinite(x));
    return v.length ? `${l.label} from ${Math.min(...v).toFixed(1)} to ${Math.max(...v).toFixed(1)}` : `${l.label}: nothing`;
  }).join("; ");
}
