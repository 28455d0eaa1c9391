// Pictures that come two at a time and only when they are in sight: a browser keeps
// six connections to a server, and the job that is opened must not wait behind them.
import { useEffect, useRef, useState } from "preact/hooks";

const atOnce = 2;
let coming = 0;
const queue: (() => void)[] = [];

function next(): void {
  while (coming < atOnce && queue.length) {
    coming++;
    queue.shift()!();
  }
}

export function Picture({ src }: { src: string }) {
  const box = useRef<HTMLSpanElement>(null);
  const finish = useRef(() => {});
  const [state, setState] = useState<"waiting" | "coming" | "here" | "lost">("waiting");
  useEffect(() => {
    let mine = false, gone = false;
    const begin = () => {
      if (gone) { done(); return; }
      mine = true;
      setState("coming");
    };
    const seen = new IntersectionObserver((e) => {
      if (!e.some((x) => x.isIntersecting)) return;
      seen.disconnect();
      queue.push(begin);
      next();
    }, { rootMargin: "200px" });
    seen.observe(box.current!);
    const done = () => { coming--; next(); };
    finish.current = () => { if (mine) { mine = false; done(); } };
    return () => {
      gone = true;
      seen.disconnect();
      const i = queue.indexOf(begin);
      if (i >= 0) queue.splice(i, 1);
      // An image that is taken away goes on loading unless it is told not to.
      const img = box.current?.querySelector("img");
      if (img && mine) img.removeAttribute("src");
      finish.current();
    };
  }, [src]);
  return (
    <span class="picture" ref={box}>
      {(state === "coming" || state === "here") && <img alt="" src={src} class={state}
        onLoad={() => { setState("here"); finish.current(); }} onError={() => { setState("lost"); finish.current(); }} />}
      {state === "lost" && <span class="quiet">no picture</span>}
    </span>
  );
}
