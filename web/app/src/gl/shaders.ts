// What is drawn, and how light falls on it. The room, the roughness and the way of
// averaging are those of package light, so that the page and the server's pictures
// show the same metal.

/** Joins a GLSL program's two halves with what both need. */
const head = `#version 300 es
precision highp float;
precision highp int;
precision highp sampler2D;
precision highp sampler2DArray;
`;

/** Codes a slope in two bytes: the sideways part of the normal, and (0, 0) for what is no metal. */
const code = `
uniform vec2 grain; // where the dither begins, different in each layer
vec2 coded(vec2 slope, vec2 place, float parallax) {
  vec2 g = slope - place * parallax;
  vec2 n = -g * inversesqrt(1.0 + dot(g, g));
  float h = fract(52.9829189 * fract(dot(gl_FragCoord.xy + grain, vec2(0.06711056, 0.00583715))));
  float k = fract(h * 7.31 + 0.37);
  return (floor((n * 0.5 + 0.5) * 253.0 + 1.0 + vec2(h, k)) ) / 255.0;
}
`;

/**
 * A flank of every cut, as one strip of triangles pulled out of a texture of the
 * tips' paths by the number of the vertex. Seen from above with the lowest kept, the
 * strips are the carved surface.
 */
export const strip = {
  vertex: `${head}
uniform sampler2D paths; // two texels a vertex: x, y, z, across; heading, rise, turn, collapsed
uniform vec2 scale, centre, nudge;
uniform vec2 depth;      // lowest z and one over the range
uniform float side;      // +1, -1: a flank; 0: the flat of the tip
uniform float flatHalf, slope, reachFor; // mm, cot and tan of the half angle
out vec2 gradient;
out vec2 place;
const float above = 0.003; // mm above the blank: the blank clips the flank itself
void main() {
  int v = gl_VertexID >> 1;
  bool outer = (gl_VertexID & 1) == 1;
  ivec2 t = ivec2((v & 1023) << 1, v >> 10);
  vec4 a = texelFetch(paths, t, 0), b = texelFetch(paths, t + ivec2(1, 0), 0);
  vec2 u = vec2(cos(a.w), sin(a.w));
  float c = side * slope, reach, z = a.z;
  if (side == 0.0) {
    reach = outer ? flatHalf : -flatHalf;
  } else {
    reach = side * flatHalf;
    if (outer) {
      reach += side * max(0.0, above - a.z) * reachFor;
      z = max(above, a.z);
    }
  }
  vec2 along = vec2(cos(b.x), sin(b.x)) + reach * b.z * vec2(-u.y, u.x);
  float d = along.x * u.y - along.y * u.x;
  gradient = abs(d) < 1e-3 ? c * u
    : vec2(b.y * u.y - c * along.y, c * along.x - b.y * u.x) / d;
  place = a.xy + u * (b.w > 0.5 ? 0.0 : reach);
  vec2 p = (place - centre) * scale + nudge;
  gl_Position = vec4(p, (z - depth.x) * depth.y * 2.0 - 1.0, 1.0);
}`,
  fragment: `${head}
in vec2 gradient;
in vec2 place;
uniform float parallax;
out vec2 layer;
${code}
void main() { layer = coded(gradient, place, parallax); }`,
};

/** The blank's ground and the bevel of its edge: places with a slope. */
export const ground = {
  vertex: `${head}
layout(location = 0) in vec2 at;
layout(location = 1) in vec3 bevel; // outward normal and how near the edge, 0 to 1
uniform vec2 scale, centre, nudge, depth;
uniform float z;
out vec2 place;
out vec3 rim;
void main() {
  place = at;
  rim = bevel;
  gl_Position = vec4((at - centre) * scale + nudge, (z - depth.x) * depth.y * 2.0 - 1.0, 1.0);
}`,
  fragment: `${head}
in vec2 place;
in vec3 rim;
uniform float parallax;
out vec2 layer;
${code}
void main() { layer = coded(rim.xy * (-0.75 * rim.z * rim.z), place, parallax); }`,
};

export const whole = `${head}
out vec2 at;
void main() {
  at = vec2(gl_VertexID & 1, gl_VertexID >> 1) * 2.0;
  gl_Position = vec4(at * 2.0 - 1.0, 0.0, 1.0);
}`;

const bend = `
vec3 compress(vec3 l) { return l / (1.0 + 0.6 * l); }
vec3 expand(vec3 c) { return c / (1.0 - 0.6 * c); }
float soft(float t) { t = clamp(t, 0.0, 1.0); return t * t * (3.0 - 2.0 * t); }
`;

/** The room as a mirror on the work shows it, over the sideways part of the mirror's normal. */
export const mirror = `${head}
in vec2 at;
out vec4 seen;
${bend}
float cover(vec2 p, vec4 panel, float edge) {
  vec2 d = (panel.zw - abs(p - panel.xy)) / edge;
  return soft(d.x + 0.5) * soft(d.y + 0.5);
}
void main() {
  vec2 n = at * 2.0 - 1.0;
  float z = sqrt(max(0.0, 1.0 - dot(n, n)));
  vec3 d = 2.0 * z * vec3(n, z) - vec3(0.0, 0.0, 1.0);
  seen.a = 1.0;
  if (d.z < 0.02) { seen.rgb = vec3(0.02); return; }
  vec2 p = d.xy / d.z;
  float w = 0.03 + 0.055 * soft(0.5 + 0.25 * (p.y - p.x));
  vec3 l = vec3(w, w, w * 1.04);
  l += vec3(0.45, 0.43, 0.40) * soft(0.5 + 1.3 * (p.y - 0.45 * p.x)) * soft(1.9 - length(p));
  l *= 1.0 - 0.9 * cover(p, vec4(1.05, 0.85, 0.40, 0.38), 0.25);
  l *= 1.0 - 0.9 * cover(p, vec4(-0.45, -1.25, 0.50, 0.30), 0.25);
  float c = cover(p, vec4(-0.98, 0.98, 0.52, 0.72), 0.06);
  float up = abs(p.x + 0.98), level = abs(abs(p.y - 0.98) - 0.24);
  float glass = soft((up - 0.05) / 0.04 + 0.5) * soft((level - 0.05) / 0.04 + 0.5);
  l = mix(l, vec3(2.68, 2.82, 3.00) * (0.06 + 0.94 * glass), c);
  l = mix(l, vec3(1.80, 1.50, 1.15), cover(p, vec4(1.15, -0.80, 0.22, 1.15), 0.08));
  seen.rgb = l;
}`;

const frame = `
uniform vec3 colours[9]; // of the metal, over the cosine of incidence
uniform int count;
uniform float steepest; // sideways part of the normals that the piece is full of
int samples; // beyond it a few will do
vec3 metal(float c) {
  float x = clamp(c, 0.0, 1.0) * 8.0;
  int i = min(int(x), 7);
  return mix(colours[i], colours[i + 1], x - float(i));
}
float hidden(vec2 a, vec3 w) {
  vec2 s = a * w.xy;
  return (sqrt(1.0 + dot(s, s) / (w.z * w.z)) - 1.0) * 0.5;
}
vec2 spiral(int i) {
  float t = float(i) * 2.39996323, r = sqrt((float(i) + 0.5) / float(samples));
  return r * vec2(cos(t), sin(t));
}
vec3 n, along, across, eye;
vec2 rough;
float self;
void stand(vec2 s) { // a flank of that slope: its frame and roughness
  float q = dot(s, s);
  samples = q > steepest * steepest ? count / 5 : count;
  if (q > 0.956484) { s *= 0.978 * inversesqrt(q); q = 0.956484; }
  n = vec3(s, sqrt(1.0 - q));
  float tilt = sqrt(q);
  along = tilt > 1e-4 ? vec3(-s.y, s.x, 0.0) / tilt : vec3(1.0, 0.0, 0.0);
  across = cross(n, along);
  rough = mix(vec2(0.05), vec2(0.035, 0.07), soft((tilt - 0.1) / 0.12));
  eye = vec3(along.z, across.z, n.z);
  self = hidden(rough, eye);
}
`;

/** What metal of every slope sends upwards of the room without the lamp. */
export const room = `${head}
in vec2 at;
out vec4 sent;
uniform sampler2D mirrored;
${bend}${frame}
vec3 facet(vec2 p) {
  vec3 h = normalize(vec3(rough * eye.xy, eye.z));
  float l = dot(h.xy, h.xy);
  vec3 t1 = l > 0.0 ? vec3(-h.y, h.x, 0.0) * inversesqrt(l) : vec3(1.0, 0.0, 0.0);
  vec3 t2 = cross(h, t1);
  float s = (1.0 + h.z) * 0.5;
  p.y = (1.0 - s) * sqrt(1.0 - p.x * p.x) + s * p.y;
  vec3 m = p.x * t1 + p.y * t2 + sqrt(max(0.0, 1.0 - dot(p, p))) * h;
  return normalize(vec3(rough * m.xy, max(0.0, m.z)));
}
void main() {
  stand(at * 2.0 - 1.0);
  float share = 3.14159265 * rough.x * rough.y * eye.z * (1.0 + self) / float(samples);
  vec3 total = vec3(0.0);
  for (int i = 0; i < samples; i++) {
    vec3 m = facet(spiral(i));
    float c = dot(eye, m);
    vec3 way = 2.0 * c * m - eye;
    if (way.z <= 0.0) continue;
    vec3 h = m.x * along + m.y * across + m.z * n;
    vec2 p = m.xy / rough;
    float q = dot(p, p) + m.z * m.z;
    float width = q * sqrt(share * max(h.z, 1e-4) / max(c, 1e-4));
    vec3 l = textureLod(mirrored, h.xy * 0.5 + 0.5, log2(max(width * 128.0, 1.0))).rgb;
    total += l * metal(c) * ((1.0 + self) / (1.0 + self + hidden(rough, way)));
  }
  sent = vec4(total / float(samples), 1.0);
}`;

/** The same with the lamp, compressed so that it can be averaged over a pixel. */
export const lamp = `${head}
in vec2 at;
out vec4 sent;
uniform sampler2D base;
uniform vec3 toLamp;
uniform float matte;
${bend}${frame}
void main() {
  stand(at * 2.0 - 1.0);
  if (matte > 0.5) { // chalk under a broad lamp: slope alone, no reflections
    float l = 0.10 + 0.75 * max(0.0, dot(n, toLamp)) + 0.12 * n.z;
    sent = vec4(compress(vec3(l)), 1.0);
    return;
  }
  vec3 side = normalize(abs(toLamp.z) < 0.99 ? cross(toLamp, vec3(0.0, 0.0, 1.0)) : vec3(1.0, 0.0, 0.0));
  vec3 up = cross(toLamp, side);
  const float radius = 0.155, disc = 3.14159265 * radius * radius;
  float total = 0.0;
  float cosine = 1.0;
  for (int i = 0; i < samples; i++) {
    vec2 p = spiral(i) * radius;
    vec3 d = normalize(toLamp + p.x * side + p.y * up);
    vec3 way = vec3(dot(d, along), dot(d, across), dot(d, n));
    if (way.z <= 0.01 || d.z < 0.02) continue;
    vec3 m = normalize(way + eye);
    vec2 s = m.xy / rough;
    float q = dot(s, s) + m.z * m.z;
    float D = 1.0 / (3.14159265 * rough.x * rough.y * q * q);
    total += soft((0.13 - length(p)) / 0.05 + 0.5) * D / (4.0 * eye.z * (1.0 + self + hidden(rough, way)));
    cosine = dot(m, eye);
  }
  vec3 l = texture(base, at).rgb + total * disc / float(samples) * metal(cosine) * vec3(5.4, 5.0, 4.4);
  sent = vec4(compress(max(l, 0.0)), 1.0);
}`;

/** The layers of slopes under the light of the moment, averaged. */
export const gather = `${head}
in vec2 at;
out vec4 mean;
uniform sampler2DArray layers;
uniform sampler2D table;
uniform int count;
uniform vec3 nothing; // compressed radiance of what lies round the work
void main() {
  ivec2 p = ivec2(gl_FragCoord.xy);
  vec3 total = vec3(0.0);
  for (int i = 0; i < count; i++) {
    vec2 c = texelFetch(layers, ivec3(p, i), 0).rg;
    total += c.r == 0.0 ? nothing : texture(table, (c * 255.0 - 1.0) / 253.0).rgb;
  }
  mean = vec4(total / float(count), 1.0);
}`;

/** A light smoothing between neighbours, and the tone curve of the screen. */
export const finish = `${head}
in vec2 at;
out vec4 shown;
uniform sampler2D means;
uniform ivec2 most;
uniform float smoothing; // weight of a neighbour along each axis
${bend}
vec3 tone(vec3 c) {
  const float knee = 0.55, dazzle = 0.35;
  float m = max(c.r, max(c.g, c.b));
  if (m <= knee) return c;
  float t = (m - knee) / (1.0 - knee);
  float top = knee + (1.0 - knee) * t / (1.0 + t);
  float excess = 1.0 - top / m, white = dazzle * excess * excess;
  return c * (top / m) * (1.0 - white) + top * white;
}
void main() {
  ivec2 p = ivec2(gl_FragCoord.xy);
  vec3 total = vec3(0.0);
  for (int j = -1; j <= 1; j++) for (int i = -1; i <= 1; i++) {
    float w = (i == 0 ? 1.0 - 2.0 * smoothing : smoothing) * (j == 0 ? 1.0 - 2.0 * smoothing : smoothing);
    if (w > 0.0) total += w * texelFetch(means, clamp(p + ivec2(i, j), ivec2(0), most), 0).rgb;
  }
  vec3 c = clamp(tone(expand(max(total, 0.0))), 0.0, 1.0);
  shown = vec4(mix(12.92 * c, 1.055 * pow(max(c, 1e-6), vec3(1.0 / 2.4)) - 0.055, step(0.0031308, c)), 1.0);
}`;
