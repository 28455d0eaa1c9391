// A value in a sentence: underlined words that open for change where they stand.
import { signal } from "@preact/signals";
import { useEffect, useId, useRef, useState } from "preact/hooks";
import type { Fault, Part } from "../api";
import { faultsAt, job, setField } from "../store";
import { inShown, stepped } from "../units";

/** The value that stands open, by its field; only one does at a time. */
export const openField = signal("");

/** Turns a whole setting shown as "16 teeth" by so many. */
function turned(part: Part, text: string, by: number): string | null {
  // A wish in mm becomes whole teeth as soon as it is turned by the tooth.
  if (part.count !== undefined && part.unit) {
    const m = /^\s*(-?\d+)\s+(tooth|teeth|holes?|divisions?)\s*$/.exec(text);
    return `${(m ? Number(m[1]) : part.count) + by} ${part.unit}`;
  }
  return stepped(text, by);
}

/** What the file says now at a path, even while it is wrong. */
function writtenAt(part: Part): string {
  const now = part.field ? job.value?.values?.find((v) => v.path === part.field)?.text : undefined;
  return now ?? part.written ?? part.value ?? "";
}

export function Value({ part, tail = "" }: { part: Part; tail?: string }) {
  const field = part.field;
  const wrong = faultsAt(field);
  const id = useId();
  if (!field) {
    return <><span class="value fixed">{inShown(part.value ?? "")}</span><Exact part={part} />{tail}</>;
  }
  const open = openField.value === field;
  const written = writtenAt(part);
  const shown = wrong.length ? written : inShown(part.value ?? written);
  return (
    <span class={`value-place${wrong.length ? " wrong" : ""}`}>
      {open
        ? <Editor part={part} written={written} faults={wrong} />
        : (
          <button type="button" class="value" id={id} data-field={field} aria-invalid={wrong.length > 0 || undefined}
            aria-describedby={wrong.length ? `${id}-wrong` : undefined}
            onClick={() => { openField.value = field; }}>
            {shown || "nothing yet"}
          </button>
        )}
      <Exact part={part} />{tail}
      {!open && wrong.length > 0 && <Faults id={`${id}-wrong`} faults={wrong} />}
    </span>
  );
}

function Exact({ part }: { part: Part }) {
  return part.exact ? <span class="exact"> ({inShown(part.exact)})</span> : null;
}

export function Faults({ faults, id }: { faults: Fault[]; id?: string }) {
  return (
    <span class="faults" id={id} role="alert">
      {faults.map((f) => (
        <span class="fault" key={f.problem + (f.field ?? "")}>
          <strong>{sentence(f.problem)}</strong> {f.mend ? sentence(f.mend) : ""}
        </span>
      ))}
    </span>
  );
}

const sentence = (s: string) => {
  const t = s.charAt(0).toUpperCase() + s.slice(1);
  return /[.?!]$/.test(t) ? t : t + ".";
};

let turn = 0; // names one stay in an editor, so that its steps are undone together

function Editor({ part, written, faults }: { part: Part; written: string; faults: Fault[] }) {
  const field = part.field!;
  const [text, setText] = useState(written);
  const latest = useRef(written); // keys may come faster than the page is drawn
  const input = useRef<HTMLInputElement & HTMLSelectElement>(null);
  const stay = useRef("");
  const timer = useRef(0);
  const id = useId();
  const begun = useRef(written);
  useEffect(() => {
    stay.current = `${field} ${++turn}`;
    input.current?.focus();
    input.current?.select?.();
    return () => window.clearTimeout(timer.current);
  }, []);

  const send = (t: string, soon: boolean) => {
    window.clearTimeout(timer.current);
    const go = () => { if (t.trim() !== "" && t !== writtenAt(part)) void setField(field, t.trim(), stay.current); };
    if (soon) timer.current = window.setTimeout(go, 450);
    else go();
  };
  const close = (keep: boolean) => {
    window.clearTimeout(timer.current);
    if (keep) send(latest.current, false);
    else if (writtenAt(part) !== begun.current) void setField(field, begun.current, stay.current);
    openField.value = "";
    // The focus goes back to where it came from once the key is up: while it is
    // down, or repeats, it would open the same value again.
    const back = () => document.querySelector<HTMLElement>(`[data-field="${CSS.escape(field)}"]`)?.focus();
    window.addEventListener("keyup", () => requestAnimationFrame(back), { once: true });
  };
  const step = (by: number) => {
    const t = turned(part, latest.current, by);
    if (t === null) return;
    latest.current = t;
    setText(t);
    send(t, false);
  };
  const keys = (e: KeyboardEvent) => {
    if (e.key === "Enter") { e.preventDefault(); close(true); }
    else if (e.key === "Escape") { e.preventDefault(); e.stopPropagation(); close(false); }
    else if (e.key === "ArrowUp" || e.key === "ArrowDown") {
      if (turned(part, text, 1) === null) return;
      e.preventDefault();
      step((e.key === "ArrowUp" ? 1 : -1) * (e.shiftKey ? 10 : 1));
    }
  };
  const left = (e: FocusEvent) => {
    if (!(e.currentTarget as HTMLElement).contains(e.relatedTarget as Node | null) && openField.value === field) {
      window.clearTimeout(timer.current);
      send(latest.current, false);
      openField.value = "";
    }
  };
  const name = label(field);
  if (part.choices?.length) {
    const known = part.choices.some((c) => c.value === written);
    return (
      <span class="editor" onFocusOut={left}>
        <select ref={input} class="entry" aria-label={name} value={written} onKeyDown={(e) => { if (e.key === "Escape") keys(e); if (e.key === "Enter") close(false); }}
          onChange={(e) => { const v = e.currentTarget.value; setText(v); begun.current = v; void setField(field, v, stay.current); }}>
          {!known && <option value={written}>{part.value ?? written}</option>}
          {part.choices.map((c) => <option key={c.value} value={c.value}>{c.name}</option>)}
        </select>
        {faults.length > 0 && <Faults faults={faults} />}
      </span>
    );
  }
  const steps = turned(part, text, 1) !== null;
  return (
    <span class="editor" onFocusOut={left}>
      {steps && <button type="button" class="turn" aria-label={`${name}: one less`} onClick={() => step(-1)}>{"\u2212"}</button>}
      <input ref={input} class="entry" aria-label={`${name}, as it is written in the job`} aria-invalid={faults.length > 0 || undefined}
        aria-describedby={faults.length ? id : undefined} value={text} size={Math.max(4, text.length + 1)} autocomplete="off" spellcheck={false}
        onInput={(e) => { setText(latest.current = e.currentTarget.value); if (!part.part) send(e.currentTarget.value, true); }} onKeyDown={keys} />
      {steps && <button type="button" class="turn" aria-label={`${name}: one more`} onClick={() => step(1)}>+</button>}
      {faults.length > 0 && <Faults id={id} faults={faults} />}
    </span>
  );
}

/** A field's name in words: "sequence[0].do[1].step" is "step". */
export function label(field: string): string {
  const words = field.replace(/\[\d+\]/g, "").split(".");
  return words.slice(-2).filter((w) => w !== "sequence" && w !== "do").join(" ").replace(/_/g, " ") || field;
}

/** Words and values in turn; a stop or bracket that touches a value stays on its line. */
export function Words({ parts }: { parts: Part[] }) {
  const out = [];
  let taken = 0; // characters of the next text that stand with the value before it
  for (let i = 0; i < parts.length; i++) {
    const p = parts[i]!, next = parts[i + 1];
    if (p.value === undefined) {
      const text = inShown((p.text ?? "").slice(taken));
      taken = 0;
      const open = next?.value !== undefined ? /[(\u201c]+$/.exec(text)?.[0] ?? "" : "";
      out.push(<span key={i}>{open ? text.slice(0, -open.length) : text}</span>);
      continue;
    }
    const before = i > 0 && parts[i - 1]!.value === undefined ? /[(\u201c]+$/.exec(parts[i - 1]!.text ?? "")?.[0] ?? "" : "";
    const after = next && next.value === undefined ? /^[).,;:\u201d\u2026]+/.exec(next.text ?? "")?.[0] ?? "" : "";
    taken = after.length;
    out.push(<span key={`${p.field ?? ""}${i}`} class={before || after ? "together" : undefined}>{before}<Value part={p} tail={after} /></span>);
  }
  return <>{out}</>;
}
