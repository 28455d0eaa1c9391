// Lengths as the reader wants them. Only what is shown is turned: the file keeps its
// own units, and a value is edited as it is written there.
import { shownUnits } from "./store";

const minus = "\u2212";
const number = `(?<![\\d.])([${minus}-]?)(\\d+(?:\\.\\d+)?)`;
const millimetres = new RegExp(`${number} mm\\b`, "g");
const microns = new RegExp(`${number} \u00b5m(?!/)`, "g");
const inches = new RegExp(`${number} in\\b`, "g");
const thous = new RegExp(`${number} thou\\b`, "g");

const trim = (v: number, decimals: number) => {
  const s = v.toFixed(decimals);
  return s.includes(".") ? s.replace(/\.?0+$/, "") : s;
};

/** Turns the lengths in a text into the units shown. */
export function inShown(text: string): string {
  return shownUnits.value === "inch"
    ? text.replace(millimetres, (_, s: string, v: string) => `${s}${trim(Number(v) / 25.4, 4)} in`)
      .replace(microns, (_, s: string, v: string) => `${s}${trim(Number(v) / 25.4, 2)} thou`)
    : text.replace(inches, (_, s: string, v: string) => `${s}${trim(Number(v) * 25.4, 3)} mm`)
      .replace(thous, (_, s: string, v: string) => `${s}${trim(Number(v) * 25.4, 1)} \u00b5m`);
}

/** A length in mm, to the digits it deserves. */
export function length(mm: number, decimals = 3): string {
  const v = shownUnits.value === "inch" ? (mm / 25.4).toFixed(decimals + 1) + " in" : mm.toFixed(decimals) + " mm";
  return v.replace(/^-/, minus);
}

/** A height or width in microns. */
export function fine(um: number): string {
  const v = shownUnits.value === "inch" ? (um / 25.4).toFixed(2) + " thou" : um.toFixed(1) + " \u00b5m";
  return v.replace(/^-/, minus);
}

export const degrees = (v: number, decimals = 0) => v.toFixed(decimals).replace(/^-/, minus) + "\u00b0";

/** A step of one in the last place that a number in a text shows, or null where there is none. */
export function stepped(text: string, by: number): string | null {
  const m = /-?\d+(?:\.(\d+))?/.exec(text);
  if (!m || /\d\s*\/\s*\d/.test(text)) return null;
  const decimals = m[1]?.length ?? 0;
  const v = Number(m[0]) + by * 10 ** -decimals;
  return text.slice(0, m.index) + v.toFixed(decimals).replace(/^-(0(\.0+)?)$/, "$1") + text.slice(m.index + m[0].length);
}
