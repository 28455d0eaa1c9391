// The sequence: lines that can be changed, put in, taken out, moved and repeated.
import { signal } from "@preact/signals";
import { useEffect, useId, useRef } from "preact/hooks";
import type { Step } from "../api";
import { edit, faultsAt, job, pointed, told } from "../store";
import { Faults, Words } from "./value";

const handled = signal(""); // path of the line whose words of change are shown
const adding = signal(""); // place before which a line is about to be put in

/** What can be put into a sequence, in the order in which it is most wanted. */
function motions(): { say: string; yaml: string }[] {
  const rose = job.value?.cuts?.engine_kind === "rose";
  const bars = job.value?.steps ? names() : [];
  return [
    { say: "a cut", yaml: "cut" },
    { say: "step the slide", yaml: "{step: 10 teeth}" },
    ...(rose ? [] : [{ say: "turn the index wheel", yaml: "{turn: 1 hole}" }]),
    { say: rose ? "turn the rosette" : "shift the bar", yaml: "{shift: 1/2 wave}" },
    { say: "turn the chuck", yaml: "{chuck: 90 deg}" },
    { say: rose ? "shift out and back by turns" : "shift up and down by turns", yaml: "{alternate: [{shift: 1/2 wave}, {shift: -1/2 wave}]}" },
    { say: "bring the slide to a reading", yaml: "{set: {slide: 0 mm}}" },
    { say: "another depth", yaml: "{depth: 0.04 mm}" },
    ...bars.map((b) => ({ say: `put on “${b}”`, yaml: `{${rose ? "rosette" : "bar"}: ${b}}` })),
    { say: "a note", yaml: "{note: Look at the work before going on.}" },
    { say: "a repeat", yaml: "{repeat: 2, do: [cut, {step: 10 teeth}]}" },
  ];
}

/** The bars that the job may put on. */
function names(): string[] {
  return (job.value?.values ?? []).filter((v) => /^(bar|rosette|bars\[\d+\]|rosettes\[\d+\])$/.test(v.path)).map((v) => v.text);
}

export function Steps({ steps, list, choice }: { steps: Step[]; list: string; choice?: boolean }) {
  return (
    <ol class={`steps${choice ? " by-turns" : ""}`}>
      {steps.map((s, i) => <Line key={s.path} step={s} list={list} at={i} of={steps.length} />)}
      <li class="more"><Add place={`${list}[${steps.length}]`} say={steps.length ? "add a line" : "add the first line"} /></li>
    </ol>
  );
}

function Add({ place, say }: { place: string; say: string }) {
  const first = useRef<HTMLButtonElement>(null), open = adding.value === place;
  useEffect(() => { if (open) first.current?.focus(); }, [open]);
  if (adding.value !== place) {
    return <button type="button" class="word quiet" data-add={place} onClick={() => { adding.value = place; }}>{say}</button>;
  }
  return (
    <span class="adding" role="group" aria-label="Put in" onKeyDown={(e) => { if (e.key === "Escape") { adding.value = ""; e.stopPropagation(); } }}>
      Put in{" "}
      {motions().map((m, i) => (
        <span key={m.say}>{i > 0 && ", "}<button type="button" class="word" ref={i === 0 ? first : undefined}
          onClick={() => { adding.value = ""; void edit({ op: "insert", path: place, value: m.yaml }); told.value = `Put in: ${m.say}.`; }}>{m.say}</button></span>
      ))}
      {" "}or <button type="button" class="word" onClick={() => { adding.value = ""; }}>nothing</button>.
    </span>
  );
}

function Line({ step, list, at, of }: { step: Step; list: string; at: number; of: number }) {
  const shown = handled.value === step.path;
  const id = useId();
  const wrong = faultsAt(step.path);
  const act = (op: string, say: string, more: { to?: string; value?: string; count?: number } = {}) => () => {
    handled.value = "";
    void edit({ op, path: step.path, ...more }).then(() => { told.value = say; });
  };
  return (
    <li class="step" data-path={step.path} onPointerEnter={() => { if (step.first_cut) pointed.value = step.first_cut; }} onPointerLeave={() => { pointed.value = 0; }}>
      <div class="line">
        <span class="says"><Words parts={step.parts} /></span>
        <button type="button" class="handle" aria-expanded={shown} aria-controls={id} aria-label={shown ? `done with line ${at + 1}` : `line ${at + 1}: add, move, copy, repeat or remove`}
          onClick={() => { handled.value = shown ? "" : step.path; }}>{shown ? "done" : "line"}</button>
      </div>
      {wrong.length > 0 && <Faults faults={wrong} />}
      {shown && (
        <div class="acts" id={id} onKeyDown={(e) => { if (e.key === "Escape") { handled.value = ""; e.stopPropagation(); } }}>
          <button type="button" class="word" onClick={() => { adding.value = step.path; }}>add before</button>
          <button type="button" class="word" onClick={() => { adding.value = `${list}[${at + 1}]`; handled.value = step.path; }}>add after</button>
          <button type="button" class="word" onClick={act("duplicate", "Copied.")}>copy</button>
          {at > 0 && <button type="button" class="word" onClick={act("move", "Moved up.", { to: `${list}[${at - 1}]` })}>move up</button>}
          {at < of - 1 && <button type="button" class="word" onClick={act("move", "Moved down.", { to: `${list}[${at + 2}]` })}>move down</button>}
          {step.motion === "repeat"
            ? <button type="button" class="word" onClick={act("unroll", "The repeat is taken away, its lines stay.")}>do only once</button>
            : <button type="button" class="word" onClick={act("repeat", "Repeated twice; change the number.", { value: "2", count: 1 })}>repeat</button>}
          {of > 1 && <button type="button" class="word danger" onClick={act("remove", "Removed; undo brings it back.")}>remove</button>}
          {(adding.value === step.path || adding.value === `${list}[${at + 1}]`) && at + 1 < of && <Add place={adding.value} say="" />}
          {adding.value === step.path && at + 1 === of && <Add place={adding.value} say="" />}
        </div>
      )}
      {step.do && <Steps steps={step.do} list={`${step.path}.do`} />}
      {step.choices && step.choices.map((c, i) => (
        <div class="choice" key={i}>
          <span class="quiet">{i === 0 ? "first" : i === 1 ? "then" : "then"}</span>
          <ol class="steps by-turns">{c.map((s) => <li class="step" key={s.path}><div class="line"><span class="says"><Words parts={s.parts} /></span></div></li>)}</ol>
        </div>
      ))}
    </li>
  );
}
