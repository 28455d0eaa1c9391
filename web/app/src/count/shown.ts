// A run as this device shows it: as the workshop last told it, with what waits here
// on top. Package bench has the rules; of them a device needs only those for its own
// events, which build on what it shows. When the workshop takes them, its word holds.
import type { Act, BenchEvent, Run } from "./runs";

export interface Shown extends Run {
  history: Act[]; // what an undo takes back, the last at the end, as far as this device knows
}

export function withWaiting(run: Run, waiting: BenchEvent[]): Shown {
  const s: Shown = { ...run, skipped: [...(run.skipped ?? [])], unwitnessed: [...(run.unwitnessed ?? [])], notes: [...(run.notes ?? [])], history: run.last ? [run.last] : [] };
  for (const e of waiting) take(s, e);
  s.last = s.history.at(-1);
  if (waiting.length) s.left = left(s);
  return s;
}

function take(s: Shown, e: BenchEvent): void {
  const ended = s.state === "finished" || s.state === "abandoned";
  const cut = e.cut ?? 0;
  const act: Act = { id: e.id, kind: e.kind, cut, at: e.at };
  switch (e.kind) {
    case "note": s.notes!.push({ at: e.at, cut: e.cut, text: e.text ?? "" }); return;
    case "held": s.held = { ...s.held, text: e.text }; return;
    case "measured": s.measured = (s.measured ?? 0) + 1; return;
    case "paused": if (!ended) s.state = "paused"; return;
    case "resumed": if (s.state === "paused") s.state = "under way"; return;
    case "reopened": if (ended) s.state = "under way"; return;
    case "settled": s.conflicts = s.conflicts?.filter((q) => q.id !== e.settles); return;
    case "touched-up": return;
  }
  if (ended) return;
  switch (e.kind) {
    case "done":
      if (cut === s.next) s.next++;
      else if (s.skipped!.some((x) => x.cut === cut)) s.skipped = s.skipped!.filter((x) => x.cut !== cut);
      else return;
      s.counted++;
      s.history.push(act);
      break;
    case "skipped":
      if (cut !== s.next) return;
      s.skipped!.push({ cut, text: e.text });
      s.next++;
      s.history.push(act);
      break;
    case "undone": {
      const last = s.history.at(-1);
      if (last?.id !== e.undoes || last?.cut !== s.next - 1) return;
      s.history.pop();
      s.next = last.cut;
      if (last.kind === "done") s.counted--;
      else s.skipped = s.skipped!.filter((x) => x.cut !== last.cut);
      break;
    }
    case "placed": {
      for (let n = s.next; n < cut; n++) s.unwitnessed!.push(n);
      if (cut < s.next) {
        const open = (n: number) => n >= cut;
        const lost = s.next - cut - s.skipped!.filter((x) => open(x.cut)).length - s.unwitnessed!.filter(open).length;
        s.counted -= Math.max(0, lost);
        s.skipped = s.skipped!.filter((x) => !open(x.cut));
        s.unwitnessed = s.unwitnessed!.filter((n) => !open(n));
      }
      s.next = cut;
      s.history = [];
      break;
    }
    case "finished": s.state = "finished"; return;
    case "abandoned": s.state = "abandoned"; return;
  }
  if (s.state === "paused") s.state = "under way";
}

/** Time to the end at the pace so far; undefined before there is one. */
function left(s: Run): Run["left"] {
  const p = s.pace, n = Math.max(0, s.total - s.next + 1);
  if (!p?.seconds) return undefined;
  return { seconds: p.seconds * n, low: p.low && p.low * n, high: p.high && p.high * n };
}
