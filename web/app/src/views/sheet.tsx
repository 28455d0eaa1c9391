// The cut sheet as it will be printed.
import { useRef, useState } from "preact/hooks";
import { api } from "../api";
import { job } from "../store";
import { Downloads } from "./making";

export function Sheet() {
  const j = job.value;
  const frame = useRef<HTMLIFrameElement>(null);
  const [paper, setPaper] = useState(j?.units === "inch" ? "letter" : "a4");
  if (!j) return null;
  return (
    <section class="sheet" aria-label="Cut sheet">
      <p class="row says">
        <button type="button" class="word strong" onClick={() => frame.current?.contentWindow?.print()}>Print it</button>
        <span>or keep it as <a class="word" href={api.sheet(j.id, "pdf", { paper })} download={`${j.id}.pdf`}>PDF</a> on{" "}
          <select class="entry" aria-label="Paper" value={paper} onChange={(e) => setPaper(e.currentTarget.value)}><option value="a4">A4</option><option value="letter">Letter</option></select>{" "}
          or as <a class="word" href={api.sheet(j.id, "txt")} download={`${j.id}.txt`}>plain text</a>.</span>
        <a class="word" href={`#/${encodeURIComponent(j.id)}/count`}>Count at the engine</a>
        {j.stale && <span class="wrong-word">The job has faults: mend them first.</span>}
      </p>
      {!j.stale && <Downloads />}
      {!j.stale && <iframe ref={frame} title={`Cut sheet of ${j.title}`} src={api.sheet(j.id, "html", { digest: j.digest })} />}
    </section>
  );
}
