// Words as large as their place allows, to be read from two metres.
import type { ComponentChildren } from "preact";
import { useLayoutEffect, useRef } from "preact/hooks";

const least = 17; // px

export function Fitted({ class: name, most, children, text }: { class: string; most: number; children?: ComponentChildren; text: string }) {
  const box = useRef<HTMLDivElement>(null), inner = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => {
    const b = box.current!, i = inner.current!;
    const fit = () => {
      const w = b.clientWidth, h = b.clientHeight;
      if (!w || !h) return;
      let low = least, high = Math.max(least, h * most);
      while (high - low > 0.5) {
        const size = (low + high) / 2;
        i.style.fontSize = `${size}px`;
        if (i.scrollWidth <= w && i.offsetHeight <= h) low = size;
        else high = size;
      }
      i.style.fontSize = `${low}px`;
    };
    fit();
    const seen = new ResizeObserver(fit);
    seen.observe(b);
    return () => seen.disconnect();
  }, [text, most]);
  return <div class={`fitted ${name}`} ref={box}><div ref={inner}>{children ?? text}</div></div>;
}
