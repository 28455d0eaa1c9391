/** A linked program with the places of its uniforms. */
export class Program {
  readonly handle: WebGLProgram;
  private readonly places = new Map<string, WebGLUniformLocation | null>();

  constructor(private readonly gl: WebGL2RenderingContext, vertex: string, fragment: string) {
    const p = gl.createProgram()!;
    for (const [kind, source] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]] as const) {
      const s = gl.createShader(kind)!;
      gl.shaderSource(s, source);
      gl.compileShader(s);
      gl.attachShader(p, s);
      gl.deleteShader(s);
    }
    gl.linkProgram(p);
    if (!gl.getProgramParameter(p, gl.LINK_STATUS) && !gl.isContextLost()) {
      const logs = gl.getAttachedShaders(p)!.map((s) => annotate(gl.getShaderInfoLog(s), gl.getShaderSource(s)));
      throw new Error(`the light could not be set up: ${gl.getProgramInfoLog(p)}\n${logs.join("\n")}`);
    }
    this.handle = p;
  }

  use(): this {
    this.gl.useProgram(this.handle);
    return this;
  }

  at(name: string): WebGLUniformLocation | null {
    let place = this.places.get(name);
    if (place === undefined) {
      place = this.gl.getUniformLocation(this.handle, name);
      this.places.set(name, place);
    }
    return place;
  }
}

/** Puts the lines that a log of errors speaks of beside their numbers. */
function annotate(log: string | null, source: string | null): string {
  if (!log) return "";
  const lines = (source ?? "").split("\n");
  return log.replace(/ERROR: 0:(\d+):.*/g, (all, n) => `${all}\n    ${lines[Number(n) - 1] ?? ""}`);
}
