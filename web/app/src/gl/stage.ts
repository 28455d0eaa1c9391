// The stage: keeps the picture of the piece up to date with as little drawing as
// will do, and turns pointer, finger and keys into lamp and camera.
import { effect } from "@preact/signals";
import { cutNear } from "../cuts";
import { camera, drawingLine, finest, fit, lamp, lampTo, lean, leanTo, line, look, recipe, rocking, shown, wholePiece } from "../piece";
import { cuts, job, pointed, shownUnits, upto } from "../store";
import { overlay } from "./overlay";
import { Renderer } from "./renderer";

const pixelsMost = 2_200_000;
const foot = 40; // pixels below the piece for the scale bar

export class Stage {
  private renderer: Renderer;
  private asked = 0;
  private begun = 0; // when the frame in the works was told to the card
  private layers = 0; // that it added
  private cost = 50; // of a layer, ms; a machine is taken to be slow until it shows otherwise
  private changed = 0;
  private stale = false; // something changed since the last frame was told
  private ratio = 1;
  private sized = false;
  private fingers = new Map<number, { x: number; y: number }>();
  private dragged = false;
  private from: { x: number; y: number } | null = null;
  private stops: (() => void)[] = [];
  private lampMoved = 0;
  private digest = ""; // of the cuts that are drawn

  constructor(readonly box: HTMLElement, readonly canvas: HTMLCanvasElement, readonly over: HTMLCanvasElement) {
    this.renderer = new Renderer(canvas);
    shown.value = { layers: 0, kept: 0, digest: "", frames: 0 };
    const sized = new ResizeObserver(() => this.resize());
    sized.observe(box);
    this.stops.push(() => sized.disconnect());
    // What stands above the stage may grow and move it without changing its size.
    const lies = window.setInterval(() => this.snap(), 300);
    this.stops.push(() => window.clearInterval(lies));
    let laid: unknown[] = [];
    this.stops.push(effect(() => {
      const c = cuts.value, cutter = job.value?.cutter;
      if (!c || !cutter || laid[0] === c && laid[1] === cutter.included_deg && laid[2] === cutter.flat_mm) return;
      laid = [c, cutter.included_deg, cutter.flat_mm];
      this.digest = c.digest;
      this.renderer.setCuts(c, { half: cutter.included_deg * Math.PI / 360, flat: cutter.flat_mm });
      this.ask();
    }));
    let outline = "";
    this.stops.push(effect(() => {
      const o = job.value?.outline;
      if (!o) return;
      const key = JSON.stringify([o.loops, o.windows]);
      if (key === outline) return; // a frame of what is shown already would hold up the new cuts
      outline = key;
      this.renderer.setBlank([...o.loops, ...(o.windows ?? []).filter((w) => w.open).flatMap((w) => w.loops)]);
      if (wholePiece.peek()) this.whole();
      this.ask();
    }));
    this.stops.push(effect(() => { this.renderer.setLamp(lamp.value); this.lampMoved = performance.now(); this.ask(); }));
    this.stops.push(effect(() => { if (recipe.value) { this.renderer.setRecipe(recipe.value); this.ask(); } }));
    this.stops.push(effect(() => { this.renderer.setLean(lean.value); this.ask(); }));
    this.stops.push(effect(() => { this.renderer.setMatte(look.value !== "metal"); this.ask(); }));
    this.stops.push(effect(() => { this.renderer.setCamera(camera.value); this.ask(); }));
    this.stops.push(effect(() => { this.renderer.setUpto(upto.value); this.ask(); }));
    this.stops.push(effect(() => { void [pointed.value, line.value, look.value, shownUnits.value, drawingLine.value]; this.paintOver(); }));
    this.listen();
    this.resize();
  }

  close(): void {
    this.stops.forEach((s) => s());
    cancelAnimationFrame(this.asked);
    this.renderer.close();
  }

  whole(): void {
    const o = job.value?.outline;
    if (!o) return;
    wholePiece.value = true;
    camera.value = fit(o, this.canvas.width, this.canvas.height, foot * this.ratio);
  }

  zoom(by: number, px = this.canvas.width / 2, py = this.canvas.height / 2): void {
    const c = camera.value, [x, y] = this.place(px, py);
    const o = job.value?.outline;
    const least = o ? fit(o, this.canvas.width, this.canvas.height, foot * this.ratio).scale * 0.7 : 1;
    const scale = Math.min(finest, Math.max(least, c.scale * by));
    wholePiece.value = false;
    camera.value = { scale, x: x - (px - this.canvas.width / 2) / scale, y: y + (py - this.canvas.height / 2) / scale };
  }

  pan(dx: number, dy: number): void { // device pixels
    const c = camera.value;
    wholePiece.value = false;
    camera.value = { ...c, x: c.x - dx / c.scale, y: c.y + dy / c.scale };
  }

  /** The place on the work under a device pixel. */
  place(px: number, py: number): [number, number] {
    const c = camera.value;
    return [c.x + (px - this.canvas.width / 2) / c.scale, c.y - (py - this.canvas.height / 2) / c.scale];
  }

  private resize(): void {
    const r = this.box.getBoundingClientRect();
    if (r.width < 2 || r.height < 2) return;
    this.ratio = Math.min(window.devicePixelRatio || 1, 2, Math.sqrt(pixelsMost / (r.width * r.height)));
    const w = Math.max(2, Math.round(r.width * this.ratio)), h = Math.max(2, Math.round(r.height * this.ratio));
    if (w === this.canvas.width && h === this.canvas.height && this.sized) return;
    this.sized = true;
    this.renderer.resize(w, h);
    this.over.width = w;
    this.over.height = h;
    if (wholePiece.value) this.whole();
    this.ask();
  }

  /** Lays the canvases on whole pixels of the screen: half a pixel off, every groove would be blurred. */
  private snap(): void {
    const r = this.box.getBoundingClientRect(), whole = window.devicePixelRatio || 1;
    const left = `${Math.round(r.left * whole) / whole - r.left}px`, top = `${Math.round(r.top * whole) / whole - r.top}px`;
    for (const c of [this.canvas, this.over]) {
      if (c.style.left !== left) c.style.left = left;
      if (c.style.top !== top) c.style.top = top;
      c.style.width = `${this.canvas.width / this.ratio}px`;
      c.style.height = `${this.canvas.height / this.ratio}px`;
    }
  }

  private ask(): void {
    this.stale = true;
    this.changed = performance.now();
    if (!this.asked) this.asked = requestAnimationFrame((t) => this.frame(t));
  }

  private frame(t: number): void {
    this.asked = 0;
    const again = () => { this.asked = requestAnimationFrame((n) => this.frame(n)); };
    if (!this.renderer.idle) { again(); return; }
    if (this.layers) {
      this.cost += ((t - this.begun) / this.layers - this.cost) * 0.5;
    }
    // Fewer layers will do while something moves where each takes long: drawn in software.
    const rest = performance.now() - this.changed > 700;
    this.renderer.enough = rest ? 16 : this.cost > 150 ? 4 : this.cost > 60 ? 8 : 16;
    this.layers = 0;
    // A slow machine refines when nothing changes, or the next change would wait behind a layer.
    const hold = this.cost > 40 && this.renderer.fineness > 0 && performance.now() - this.changed < 200;
    const ring = performance.now() - this.lampMoved < 900;
    const coarse = this.renderer.fineness < this.renderer.enough;
    if (!this.stale && (hold || !coarse)) { // nothing to draw yet, but the ring fades
      this.paintOver();
      if (coarse || ring || !rest) again();
      return;
    }
    this.snap();
    this.begun = t;
    this.stale = false;
    // A fast machine adds several layers at once; a slow one shows the first, then one by one.
    const before = this.renderer.fineness;
    const more = this.renderer.draw(hold ? 0 : Math.min(4, Math.max(1, Math.floor(14 / this.cost))));
    this.layers = Math.max(0, this.renderer.fineness - before);
    shown.value = { layers: this.renderer.fineness, kept: this.renderer.kept, digest: this.digest, frames: shown.value.frames + 1 };
    this.paintOver();
    if (more || ring || this.stale || !rest) again();
  }

  private paintOver(): void {
    overlay(this.over, this.ratio, performance.now() - this.lampMoved);
  }

  private at(e: PointerEvent | WheelEvent): [number, number] {
    const r = this.canvas.getBoundingClientRect();
    return [(e.clientX - r.left) * this.ratio, (e.clientY - r.top) * this.ratio];
  }

  private listen(): void {
    const b = this.box;
    const on = <K extends keyof HTMLElementEventMap>(kind: K, f: (e: HTMLElementEventMap[K]) => void, o?: AddEventListenerOptions) => {
      b.addEventListener(kind, f, o);
      this.stops.push(() => b.removeEventListener(kind, f));
    };
    on("pointerdown", (e) => {
      if (e.button > 0 && e.pointerType === "mouse") return;
      b.setPointerCapture?.(e.pointerId);
      const [x, y] = this.at(e);
      this.fingers.set(e.pointerId, { x, y });
      this.dragged = false;
      this.from = { x, y };
      if (drawingLine.value && this.fingers.size === 1) {
        const [wx, wy] = this.place(x, y);
        line.value = [wx, wy, wx, wy];
      }
    });
    on("pointermove", (e) => {
      const [x, y] = this.at(e);
      const was = this.fingers.get(e.pointerId);
      if (!was) {
        if (e.pointerType === "mouse" && !drawingLine.value && !rocking.value) lampTo(x, y, this.canvas.width, this.canvas.height);
        this.pointAt(x, y);
        return;
      }
      if (this.fingers.size === 2) this.pinch(e.pointerId, x, y);
      else if (drawingLine.value && line.value) {
        const [wx, wy] = this.place(x, y);
        line.value = [line.value[0], line.value[1], wx, wy];
      } else if (rocking.value) {
        leanTo(x, y, this.canvas.width, this.canvas.height);
      } else if (e.pointerType === "mouse") {
        this.pan(x - was.x, y - was.y);
      } else {
        lampTo(x, y, this.canvas.width, this.canvas.height);
      }
      if (this.from && Math.hypot(x - this.from.x, y - this.from.y) > 4 * this.ratio) this.dragged = true;
      this.fingers.set(e.pointerId, { x, y });
    });
    const up = (e: PointerEvent) => {
      const had = this.fingers.delete(e.pointerId);
      if (had && drawingLine.value && !this.dragged) line.value = null;
    };
    on("pointerup", up);
    on("pointercancel", up);
    on("pointerleave", () => { pointed.value = 0; });
    on("wheel", (e) => {
      e.preventDefault();
      const [x, y] = this.at(e);
      this.zoom(Math.exp(-e.deltaY * (e.deltaMode === 1 ? 0.05 : 0.0016)), x, y);
    }, { passive: false });
    on("keydown", (e) => this.key(e));
  }

  private pointAt(px: number, py: number): void {
    const c = cuts.value;
    if (!c || c.vertices.length > 2_000_000) return;
    const [x, y] = this.place(px, py);
    pointed.value = cutNear(c, x, y, 6 * this.ratio / camera.value.scale, upto.value);
  }

  private pinch(id: number, x: number, y: number): void {
    const other = [...this.fingers].find(([k]) => k !== id)![1], was = this.fingers.get(id)!;
    const before = Math.hypot(was.x - other.x, was.y - other.y), now = Math.hypot(x - other.x, y - other.y);
    this.pan((x - was.x) / 2, (y - was.y) / 2);
    if (before > 1 && now > 1) this.zoom(now / before, (x + other.x) / 2, (y + other.y) / 2);
  }

  private key(e: KeyboardEvent): void {
    const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[e.key];
    if (arrow && e.ctrlKey) this.pan(-arrow[0]! * 60 * this.ratio, arrow[1]! * 60 * this.ratio);
    else if (e.key === "+" || e.key === "=") this.zoom(1.25);
    else if (e.key === "-") this.zoom(0.8);
    else if (e.key === "0") this.whole();
    else return;
    e.preventDefault();
  }
}
