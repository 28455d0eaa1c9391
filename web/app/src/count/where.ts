// Where in the sequence the dials can be, told by this device while the workshop
// cannot be reached: exact fits only. With the network package bench tells more.
import type { Axis, Candidate, Places, Program } from "./runs";

export function whereHere(p: Program, dials: Partial<Record<Axis, string>>): Places {
  const fits = (n: number) => {
    const s = p.cuts[n - 1]?.settings;
    if (!s) return false;
    return Object.entries(dials).every(([axis, text]) => {
      if (axis === "bar") return s.bar === text;
      const off = Number(text) - Number(s[axis as Axis] ?? 0);
      return axis === "index" && p.circle ? off % p.circle === 0 : off === 0;
    });
  };
  const candidates: Candidate[] = [];
  for (let n = 1; n <= p.total; n++) {
    if (!fits(n)) continue;
    candidates.push({ next: n, text: `Cut ${n} is the next: all is set for it, and it is not cut yet.` });
    candidates.push({ next: n + 1, last: n, text: `Cut ${n} is made, and nothing is moved for the next yet.` });
  }
  return { candidates, exact: candidates.length > 0, text: candidates.length ? "The workshop does not answer; these are the places at which all the dials fit." : "The dials fit nowhere in the sequence. Look at them again; nearer places can be told when the workshop answers." };
}
