// Draws the piece: the carved surface once into layers of slopes, and the light on
// it as often as the lamp moves.
import type { Cuts } from "../cuts";
import { layOut, pathsWidth, type Paths } from "./paths";
import { Program } from "./program";
import * as shaders from "./shaders";

export type Ring = [number, number][];

/** What is seen: the place in the middle (mm) and pixels a millimetre. */
export interface Camera { x: number; y: number; scale: number }

/** Where the lamp stands: direction round the work from x to y, and height above it, degrees. */
export interface Lamp { azimuth: number; height: number }

/** How the piece leans in the hand: by how much, and where the side that goes down lies, degrees. */
export interface Lean { tilt: number; toward: number }

/** A scene in plain numbers, as the server gives it. */
export interface Recipe {
  scene: string; fittings: number[]; room: number[]; lamp: number[]; lamp_own: number[];
  lamp_radius: number; lamp_soft: number; lamp_strength: number;
  land: [number, number]; cut: [number, number, number]; index: number; near: [number, number]; gain: number;
}

const layersMost = 16;
const tableSize = 256; // a cell is less than a quarter of the finest roughness
const baseSize = 128; // the room has no edges as sharp as the lamp's
const groundSize = 128; // nor is the ground as fine as a cut
const mirrorSize = 256; // the shader knows it
const surround = [0.0075, 0.008, 0.009]; // what lies round the work
const bevelWidth = 0.2; // mm

export class Renderer {
  private readonly gl: WebGL2RenderingContext;
  private readonly strip: Program;
  private readonly ground: Program;
  private readonly mirror: Program;
  private readonly room: Program;
  private readonly lampProgram: Program;
  private readonly gather: Program;
  private readonly finish: Program;
  private readonly pathsTexture: WebGLTexture;
  private readonly mirrored: WebGLTexture;
  private readonly base: WebGLTexture; // of flanks, and of the ground
  private readonly table: WebGLTexture;
  private readonly groundBase: WebGLTexture;
  private readonly groundTable: WebGLTexture;
  private readonly target: WebGLFramebuffer;
  private readonly nothing: WebGLVertexArrayObject;
  private layers: WebGLTexture | null = null;
  private means: WebGLTexture | null = null;
  private deep: WebGLRenderbuffer | null = null;
  private width = 0;
  private height = 0;
  private paths: Paths | null = null;
  private cutter = { half: Math.PI / 3, flat: 0 };
  private blank: { vao: WebGLVertexArrayObject; places: WebGLBuffer; fans: [number, number][]; bevel: [number, number]; box: number } | null = null;
  private drawn = 0; // layers that hold the piece as it now is
  private stale = { mirror: true, base: true, table: true };
  private camera: Camera = { x: 0, y: 0, scale: 10 };
  private lamp: Lamp = { azimuth: 40, height: 40 };
  private recipe: Recipe | null = null;
  private lean: Lean = { tilt: 0, toward: 0 };
  private matte = false;
  private upto = Infinity;
  /** Layers that are enough for the while, and that a frame takes; fewer while something moves on a machine that draws in software. */
  enough = layersMost;

  constructor(readonly canvas: HTMLCanvasElement) {
    const gl = canvas.getContext("webgl2", { antialias: false, alpha: false, depth: false, powerPreference: "high-performance" });
    if (!gl || !(gl.getExtension("EXT_color_buffer_float") || gl.getExtension("EXT_color_buffer_half_float"))) {
      throw new Error("this browser draws no WebGL 2 with half-float colours");
    }
    this.gl = gl;
    this.strip = new Program(gl, shaders.strip.vertex, shaders.strip.fragment);
    this.ground = new Program(gl, shaders.ground.vertex, shaders.ground.fragment);
    this.mirror = new Program(gl, shaders.whole, shaders.mirror);
    this.room = new Program(gl, shaders.whole, shaders.room);
    this.lampProgram = new Program(gl, shaders.whole, shaders.lamp);
    this.gather = new Program(gl, shaders.whole, shaders.gather);
    this.finish = new Program(gl, shaders.whole, shaders.finish);
    this.nothing = gl.createVertexArray()!;
    this.target = gl.createFramebuffer()!;
    this.pathsTexture = this.texture(gl.NEAREST, gl.NEAREST);
    this.mirrored = this.texture(gl.LINEAR, gl.LINEAR_MIPMAP_LINEAR);
    gl.texStorage2D(gl.TEXTURE_2D, 7, gl.RGBA16F, mirrorSize, mirrorSize);
    const square = (size: number) => {
      const t = this.texture(gl.LINEAR, gl.LINEAR);
      gl.texStorage2D(gl.TEXTURE_2D, 1, gl.RGBA16F, size, size);
      return t;
    };
    this.base = square(baseSize);
    this.table = square(tableSize);
    this.groundBase = square(groundSize);
    this.groundTable = square(groundSize);
  }

  private texture(mag: number, min: number): WebGLTexture {
    const gl = this.gl, t = gl.createTexture()!;
    gl.bindTexture(gl.TEXTURE_2D, t);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, mag);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, min);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE);
    return t;
  }

  private into(t: WebGLTexture, w: number, h: number): void {
    const gl = this.gl;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.target);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_STENCIL_ATTACHMENT, gl.RENDERBUFFER, null);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, t, 0);
    gl.viewport(0, 0, w, h);
    gl.disable(gl.DEPTH_TEST);
    gl.disable(gl.STENCIL_TEST);
  }

  /** One triangle over all of the target. */
  private fill(): void {
    this.gl.bindVertexArray(this.nothing);
    this.gl.drawArrays(this.gl.TRIANGLES, 0, 3);
  }

  private bind(unit: number, kind: number, t: WebGLTexture | null): void {
    this.gl.activeTexture(this.gl.TEXTURE0 + unit);
    this.gl.bindTexture(kind, t);
    this.gl.activeTexture(this.gl.TEXTURE0);
  }

  setCuts(cuts: Cuts, cutter: { half: number; flat: number }): void {
    const gl = this.gl, paths = layOut(cuts);
    gl.bindTexture(gl.TEXTURE_2D, this.pathsTexture);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA32F, pathsWidth, paths.rows, 0, gl.RGBA, gl.FLOAT, paths.texels);
    paths.texels = new Float32Array();
    this.paths = paths;
    if (cutter.half !== this.cutter.half) this.stale.base = this.stale.table = true;
    this.cutter = cutter;
    this.drawn = 0;
  }

  /** The metal's edge: the outline and the windows that are cut through. */
  setBlank(rings: Ring[]): void {
    const gl = this.gl;
    if (this.blank) {
      gl.deleteVertexArray(this.blank.vao);
      gl.deleteBuffer(this.blank.places);
    }
    const data: number[] = [], fans: [number, number][] = [];
    let x0 = Infinity, y0 = Infinity, x1 = -Infinity, y1 = -Infinity;
    for (const ring of rings) {
      fans.push([data.length / 5, ring.length]);
      for (const [x, y] of ring) {
        data.push(x, y, 0, 0, 0);
        x0 = Math.min(x0, x); y0 = Math.min(y0, y); x1 = Math.max(x1, x); y1 = Math.max(y1, y);
      }
    }
    const box = data.length / 5;
    for (const [x, y] of [[x0, y0], [x1, y0], [x0, y1], [x1, y1]] as Ring) data.push(x, y, 0, 0, 0);
    const first = data.length / 5;
    rings.forEach((ring, r) => bevel(ring, r > 0, data));
    const vao = gl.createVertexArray()!;
    gl.bindVertexArray(vao);
    const places = gl.createBuffer()!;
    gl.bindBuffer(gl.ARRAY_BUFFER, places);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(data), gl.STATIC_DRAW);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 2, gl.FLOAT, false, 20, 0);
    gl.enableVertexAttribArray(1);
    gl.vertexAttribPointer(1, 3, gl.FLOAT, false, 20, 8);
    this.blank = { vao, places, fans, box, bevel: [first, data.length / 5 - first] };
    this.drawn = 0;
  }

  setCamera(c: Camera): void {
    if (c.x === this.camera.x && c.y === this.camera.y && c.scale === this.camera.scale) return;
    this.camera = { ...c };
    this.drawn = 0;
  }

  setUpto(k: number): void {
    if (k !== this.upto) { this.upto = k; this.drawn = 0; }
  }

  setLamp(l: Lamp): void {
    this.lamp = { ...l };
    this.stale.table = true;
  }

  setRecipe(r: Recipe): void {
    if (r.near.join() !== this.recipe?.near.join()) this.drawn = 0;
    this.recipe = r;
    this.stale = { mirror: true, base: true, table: true };
  }

  setLean(l: Lean): void {
    if (l.tilt === this.lean.tilt && (l.toward === this.lean.toward || l.tilt === 0)) return;
    this.lean = { ...l };
    this.stale = { mirror: true, base: true, table: true };
  }

  setMatte(matte: boolean): void {
    if (matte === this.matte) return;
    this.matte = matte;
    this.stale.table = true;
  }

  resize(w: number, h: number): void {
    if (w === this.width && h === this.height) return;
    const gl = this.gl;
    this.canvas.width = this.width = w;
    this.canvas.height = this.height = h;
    gl.deleteTexture(this.layers);
    gl.deleteTexture(this.means);
    gl.deleteRenderbuffer(this.deep);
    this.layers = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D_ARRAY, this.layers);
    gl.texStorage3D(gl.TEXTURE_2D_ARRAY, 1, gl.RGBA8, w, h, layersMost);
    gl.texParameteri(gl.TEXTURE_2D_ARRAY, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
    gl.texParameteri(gl.TEXTURE_2D_ARRAY, gl.TEXTURE_MAG_FILTER, gl.NEAREST);
    this.means = this.texture(gl.NEAREST, gl.NEAREST);
    gl.texStorage2D(gl.TEXTURE_2D, 1, gl.RGBA16F, w, h);
    this.deep = gl.createRenderbuffer();
    gl.bindRenderbuffer(gl.RENDERBUFFER, this.deep);
    gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH24_STENCIL8, w, h);
    this.drawn = 0;
  }

  /** Draws a frame, with so many new layers at most. Says whether more layers would make it finer. */
  draw(newLayers: number): boolean {
    if (!this.layers || !this.blank || !this.recipe || this.gl.isContextLost()) return false;
    for (let k = 0; k < newLayers && this.drawn < this.enough; k++) this.layer(this.drawn++);
    if (this.drawn === 0) return true;
    this.used = Math.min(this.drawn, this.enough);
    this.light();
    this.fence = this.gl.fenceSync(this.gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
    this.gl.flush();
    return this.drawn < this.enough;
  }

  private used = 0;

  private fence: WebGLSync | null = null;

  /** Says whether the card has finished what it was last told; what is told to a busy card queues up. */
  get idle(): boolean {
    const gl = this.gl;
    if (this.fence && gl.getSyncParameter(this.fence, gl.SYNC_STATUS) === gl.UNSIGNALED && !gl.isContextLost()) return false;
    if (this.fence) gl.deleteSync(this.fence);
    this.fence = null;
    return true;
  }

  /** Number of layers the shown picture is made of. */
  get fineness(): number { return this.drawn === 0 ? 0 : this.used; }

  /** Number of layers that hold the piece as it is, whether the picture takes them or not. */
  get kept(): number { return this.drawn; }

  private layer(k: number): void {
    const gl = this.gl, blank = this.blank!, { x, y, scale } = this.camera;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.target);
    gl.framebufferTextureLayer(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, this.layers, 0, k);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_STENCIL_ATTACHMENT, gl.RENDERBUFFER, this.deep);
    gl.viewport(0, 0, this.width, this.height);
    gl.clearColor(0, 0, 0, 0);
    gl.clearDepth(1);
    gl.clearStencil(0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);

    const lowest = (this.paths?.lowest ?? -0.001) * 1.01, range = 0.01 - lowest;
    // Places within the pixel, evenly spread however many there are (Roberts's sequence from 1/φ₂).
    const jx = (0.5 + k * 0.7548776662466927) % 1 - 0.5, jy = (0.5 + k * 0.5698402909980532) % 1 - 0.5;
    const common = (p: Program) => {
      gl.uniform2f(p.at("scale"), 2 * scale / this.width, 2 * scale / this.height);
      gl.uniform2f(p.at("centre"), x, y);
      gl.uniform2f(p.at("nudge"), 2 * jx / this.width, 2 * jy / this.height);
      gl.uniform2f(p.at("depth"), lowest, 1 / range);
      gl.uniform2f(p.at("nearness"), ...this.recipe!.near);
      gl.uniform2f(p.at("grain"), k * 17, k * 29);
    };

    // Where there is metal: the stencil by even and odd, then the blank's ground over it.
    const g = this.ground.use();
    common(g);
    gl.bindVertexArray(blank.vao);
    gl.enable(gl.STENCIL_TEST);
    gl.stencilFunc(gl.ALWAYS, 0, 1);
    gl.stencilOp(gl.KEEP, gl.KEEP, gl.INVERT);
    gl.stencilMask(1);
    gl.colorMask(false, false, false, false);
    gl.disable(gl.DEPTH_TEST);
    gl.uniform1f(g.at("z"), 0);
    for (const [first, count] of blank.fans) gl.drawArrays(gl.TRIANGLE_FAN, first, count);
    gl.colorMask(true, true, true, true);
    gl.stencilFunc(gl.EQUAL, 1, 1);
    gl.stencilOp(gl.KEEP, gl.KEEP, gl.KEEP);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LESS);
    gl.depthMask(true);
    gl.drawArrays(gl.TRIANGLE_STRIP, blank.box, 4);
    gl.uniform1f(g.at("z"), -1e-6);
    gl.drawArrays(gl.TRIANGLES, blank.bevel[0], blank.bevel[1]);

    if (this.paths) this.strips(common);
    gl.disable(gl.STENCIL_TEST);
    gl.disable(gl.DEPTH_TEST);
  }

  private strips(common: (p: Program) => void): void {
    const gl = this.gl, paths = this.paths!, s = this.strip.use();
    common(s);
    gl.bindVertexArray(this.nothing);
    this.bind(0, gl.TEXTURE_2D, this.pathsTexture);
    gl.uniform1i(s.at("paths"), 0);
    const tan = Math.tan(this.cutter.half);
    gl.uniform1f(s.at("reachFor"), tan);
    gl.uniform1f(s.at("slope"), 1 / tan);
    gl.uniform1f(s.at("flatHalf"), this.cutter.flat / 2);
    const runs = this.inView(Math.abs(paths.lowest) * tan + this.cutter.flat + 0.02);
    for (const side of this.cutter.flat > 0 ? [1, -1, 0] : [1, -1]) {
      gl.uniform1f(s.at("side"), side);
      for (const [first, count] of runs) gl.drawArrays(gl.TRIANGLE_STRIP, first * 2, count * 2);
    }
  }

  /** Runs of vertices that may be seen, neighbours joined. */
  private inView(margin: number): [number, number][] {
    const { x, y, scale } = this.camera, paths = this.paths!;
    const w = this.width / scale / 2 + margin, h = this.height / scale / 2 + margin;
    const last = paths.upto[Math.min(this.upto, paths.upto.length - 1)]!;
    const runs: [number, number][] = [];
    for (const s of paths.stretches) {
      if (s.first >= last) break;
      const b = s.box;
      if (b[0] > x + w || b[2] < x - w || b[1] > y + h || b[3] < y - h) continue;
      const end = Math.min(s.first + s.count, last), run = runs[runs.length - 1];
      if (run && s.first <= run[0] + run[1]) run[1] = Math.max(run[1], end - run[0]);
      else runs.push([s.first, end - s.first]);
    }
    return runs;
  }

  private light(): void {
    const gl = this.gl, r = this.recipe!, turn = leaned(this.lean);
    const eye = inward(turn.eye, r.index);
    const face = (p: Program, colours: number[], ground: boolean) => {
      this.frame(p, r, eye);
      gl.uniform3fv(p.at("colours"), colours);
      gl.uniform2f(p.at("land"), ground ? r.land[0] : 0, ground ? r.land[1] : 0);
    };
    if (this.stale.mirror) {
      this.into(this.mirrored, mirrorSize, mirrorSize);
      const m = this.mirror.use();
      gl.uniform4fv(m.at("fittings"), r.fittings.slice(0, 12 * shaders.fittingsMost));
      gl.uniform1i(m.at("fitted"), Math.min(shaders.fittingsMost, r.fittings.length / 12));
      gl.uniform3fv(m.at("eye"), eye);
      gl.uniformMatrix3fv(m.at("lean"), false, turn.toRoom);
      gl.uniform1f(m.at("over"), r.index);
      this.fill();
      gl.bindTexture(gl.TEXTURE_2D, this.mirrored);
      gl.generateMipmap(gl.TEXTURE_2D);
      this.stale.mirror = false;
    }
    if (this.stale.base) {
      for (const [target, size, ground] of [[this.base, baseSize, false], [this.groundBase, groundSize, true]] as const) {
        this.into(target, size, size);
        const p = this.room.use();
        this.bind(0, gl.TEXTURE_2D, this.mirrored);
        gl.uniform1i(p.at("mirrored"), 0);
        face(p, r.room, ground);
        gl.uniform1i(p.at("count"), 40);
        this.fill();
      }
      this.stale.base = false;
    }
    if (this.stale.table) {
      const a = this.lamp.azimuth * Math.PI / 180, h = this.lamp.height * Math.PI / 180;
      const at = turned(turn.toRoom, [Math.cos(h) * Math.cos(a), Math.cos(h) * Math.sin(a), Math.sin(h)]);
      for (const [target, size, base, ground] of [[this.table, tableSize, this.base, false], [this.groundTable, groundSize, this.groundBase, true]] as const) {
        this.into(target, size, size);
        const l = this.lampProgram.use();
        this.bind(0, gl.TEXTURE_2D, base);
        gl.uniform1i(l.at("base"), 0);
        face(l, r.lamp, ground);
        gl.uniform1i(l.at("count"), 20);
        gl.uniform3fv(l.at("toLamp"), at);
        gl.uniform3fv(l.at("lampOwn"), r.lamp_own);
        gl.uniform1f(l.at("radius"), r.lamp_radius);
        gl.uniform1f(l.at("edge"), r.lamp_soft);
        gl.uniform1f(l.at("strength"), r.lamp_strength);
        gl.uniform1f(l.at("gain"), r.gain);
        gl.uniform1f(l.at("matte"), this.matte ? 1 : 0);
        this.fill();
      }
      this.stale.table = false;
    }
    this.into(this.means!, this.width, this.height);
    const g = this.gather.use();
    this.bind(0, gl.TEXTURE_2D_ARRAY, this.layers);
    this.bind(1, gl.TEXTURE_2D, this.table);
    this.bind(2, gl.TEXTURE_2D, this.groundTable);
    gl.uniform1i(g.at("layers"), 0);
    gl.uniform1i(g.at("table"), 1);
    gl.uniform1i(g.at("ground"), 2);
    gl.uniform1i(g.at("count"), this.used);
    gl.uniform3f(g.at("nothing"), surround[0]!, surround[1]!, surround[2]!);
    this.fill();

    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.viewport(0, 0, this.width, this.height);
    const f = this.finish.use();
    this.bind(0, gl.TEXTURE_2D, this.means);
    gl.uniform1i(f.at("means"), 0);
    gl.uniform2i(f.at("most"), this.width - 1, this.height - 1);
    gl.uniform1f(f.at("smoothing"), 0.03);
    this.fill();
  }

  private frame(p: Program, r: Recipe, eye: number[]): void {
    const gl = this.gl;
    // Flanks of this cutter where the path runs aslant, with what nearness adds and the bevel.
    const g = Math.max(0.85, 1.5 / Math.tan(this.cutter.half) + 0.15);
    gl.uniform1f(p.at("steepest"), g / Math.hypot(1, g));
    gl.uniform3fv(p.at("eye"), eye);
    gl.uniform3fv(p.at("cut"), r.cut);
    gl.uniform1f(p.at("over"), r.index);
    gl.uniform1f(p.at("through"), passes(eye, r.index));
  }

  /** Gives back what the graphics card holds. */
  close(): void {
    this.gl.getExtension("WEBGL_lose_context")?.loseContext();
  }
}

/** The turn from the frame of a leaned piece to the room's, by columns, and the eye in the piece's. */
function leaned(l: Lean): { toRoom: number[]; eye: number[] } {
  const t = l.tilt * Math.PI / 180, a = l.toward * Math.PI / 180;
  const s = Math.sin(t), c = Math.cos(t), x = Math.cos(a), y = Math.sin(a);
  return {
    toRoom: [1 + (c - 1) * x * x, (c - 1) * x * y, -s * x, (c - 1) * x * y, 1 + (c - 1) * y * y, -s * y, s * x, s * y, c],
    eye: [-s * x, -s * y, c],
  };
}

/** A direction of the room in the frame of the piece: the turn the other way. */
function turned(m: number[], d: number[]): number[] {
  return [0, 3, 6].map((k) => m[k]! * d[0]! + m[k + 1]! * d[1]! + m[k + 2]! * d[2]!);
}

/** Where a ray goes on under the top. */
function inward(d: number[], index: number): number[] {
  const x = d[0]! / index, y = d[1]! / index;
  return [x, y, Math.sqrt(1 - x * x - y * y)];
}

/** The share of light from inside that the top lets through to the eye. */
function passes(eye: number[], index: number): number {
  if (index === 1) return 1;
  const c = Math.sqrt(Math.max(0, 1 - (eye[0]! ** 2 + eye[1]! ** 2) * index * index));
  const t = Math.sqrt(index * index - 1 + c * c), s = (c - t) / (c + t), p = (index * index * c - t) / (index * index * c + t);
  return 1 - (s * s + p * p) / 2;
}

/** The soft bevel inside an edge: triangles with the outward normal and how near the edge they are. */
function bevel(ring: Ring, hole: boolean, to: number[]): void {
  const n = ring.length;
  let area = 0;
  for (let i = 0; i < n; i++) {
    const [ax, ay] = ring[i]!, [bx, by] = ring[(i + 1) % n]!;
    area += ax * by - ay * bx;
  }
  // Out of the metal: to the right of a ring that runs to the left, the other way at a hole.
  const out = area > 0 === !hole ? 1 : -1;
  for (let i = 0; i < n; i++) {
    const a = ring[i]!, b = ring[(i + 1) % n]!;
    const l = Math.hypot(b[0] - a[0], b[1] - a[1]);
    if (l < 1e-9) continue;
    const nx = out * (b[1] - a[1]) / l, ny = -out * (b[0] - a[0]) / l;
    const inner = (p: [number, number]): [number, number] => [p[0] - nx * bevelWidth, p[1] - ny * bevelWidth];
    const c = inner(a), d = inner(b);
    for (const [p, t] of [[a, 1], [b, 1], [c, 0], [c, 0], [b, 1], [d, 0]] as [[number, number], number][]) to.push(p[0], p[1], nx, ny, t);
  }
}
