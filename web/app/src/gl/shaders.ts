// What is drawn, and how light falls on it. The formulas are those of package light,
// the numbers come from the server (its Recipe), so that the page and the server's
// pictures show the same metal.

/** Joins a GLSL program's two halves with what both need. */
const head = `#version 300 es
precision highp float;
precision highp int;
precision highp sampler2D;
precision highp sampler2DArray;
`;

/** Codes a slope in two bytes, the sideways part of the normal, and in a third whether it is ground; all 0 is no metal. */
const code = `
uniform vec2 grain; // where the dither begins, different in each layer
vec4 coded(vec2 g, float uncut) {
  vec2 n = -g * inversesqrt(1.0 + dot(g, g));
  float h = fract(52.9829189 * fract(dot(gl_FragCoord.xy + grain, vec2(0.06711056, 0.00583715))));
  float k = fract(h * 7.31 + 0.37);
  return vec4(floor((n * 0.5 + 0.5) * 253.0 + 1.0 + vec2(h, k)) / 255.0, uncut, 1.0);
}
`;

/** What room and eye that are near make of a slope at a place, as package light has it. */
const near = `
uniform vec2 nearness; // one over the height of the room's lights and over the eye's distance
vec2 seen(vec2 g, vec2 p) {
  vec3 m = vec3(-g, 1.0), e = vec3(-p * nearness.y, 1.0);
  vec3 d = 2.0 * dot(e, m) / dot(m, m) * m - e;
  d.xy += p * max(d.z, 0.0) * nearness.x;
  float z = d.z + length(d);
  return z < 0.05 ? g : -d.xy / z;
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
out vec2 gradient; // that in the middle of the work would show the same
${near}
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
  vec2 place = a.xy + u * (b.w > 0.5 ? 0.0 : reach);
  gradient = seen(gradient, place);
  vec2 p = (place - centre) * scale + nudge;
  gl_Position = vec4(p, (z - depth.x) * depth.y * 2.0 - 1.0, 1.0);
}`,
  fragment: `${head}
in vec2 gradient;
out vec4 layer;
${code}
void main() { layer = coded(gradient, 0.0); }`,
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
out vec4 layer;
${code}${near}
void main() { layer = coded(seen(rim.xy * (-0.75 * rim.z * rim.z), place), 1.0); }`,
};

export const whole = `${head}
out vec2 at;
void main() {
  at = vec2(gl_VertexID & 1, gl_VertexID >> 1) * 2.0;
  gl_Position = vec4(at * 2.0 - 1.0, 0.0, 1.0);
}`;

const soft = `
float soft(float t) { t = clamp(t, 0.0, 1.0); return t * t * (3.0 - 2.0 * t); }
`;

/** The level face between the air and what lies over the metal: enamel, or nothing. */
const top = `
uniform float over; // refractive index of what lies over the metal
float fresnel(float n, float c) {
  float t = sqrt(n * n - 1.0 + c * c);
  float s = (c - t) / (c + t), p = (n * n * c - t) / (n * n * c + t);
  return (s * s + p * p) * 0.5;
}
vec3 inward(vec3 d) { vec2 s = d.xy / over; return vec3(s, sqrt(max(0.0, 1.0 - dot(s, s)))); }
vec4 outward(vec3 d) { // the way on, and the share of light that passes
  if (over == 1.0) return vec4(d, 1.0);
  vec2 s = d.xy * over;
  float z2 = 1.0 - dot(s, s);
  if (z2 <= 0.0 || d.z <= 0.0) return vec4(d.xy, -d.z, 0.0);
  float z = sqrt(z2);
  return vec4(s, z, 1.0 - fresnel(over, z));
}
bool holds(vec3 d) { return over != 1.0 && dot(d.xy, d.xy) * over * over >= 1.0; }
`;

/** The most fittings that a room may have. */
export const fittingsMost = 16;

/** The room as a mirror on the work shows it, over the sideways part of the mirror's normal. */
export const mirror = `${head}
in vec2 at;
out vec4 seen;
uniform vec4 fittings[${3 * fittingsMost}]; // kind, x, y, half x; half y, edge, r, g; b
uniform int fitted;
uniform vec3 eye;   // inside, in the work's frame
uniform mat3 lean;  // from the work's frame to the room's
${soft}${top}
float cover(vec2 p, vec2 middle, vec2 half_, float edge) {
  vec2 d = (half_ - abs(p - middle)) / edge;
  return soft(d.x + 0.5) * soft(d.y + 0.5);
}
void main() {
  vec2 n = at * 2.0 - 1.0;
  vec3 h = vec3(n, sqrt(max(0.0, 1.0 - dot(n, n))));
  vec4 leaves = outward(2.0 * dot(eye, h) * h - eye);
  vec3 d = lean * leaves.xyz;
  seen = vec4(vec3(0.02) * leaves.w, 1.0);
  if (d.z < 0.02) return;
  vec2 p = d.xy / d.z;
  vec3 l = vec3(0.0);
  for (int i = 0; i < fitted; i++) {
    vec4 a = fittings[3 * i], b = fittings[3 * i + 1];
    vec3 light = vec3(b.zw, fittings[3 * i + 2].x);
    int kind = int(a.x + 0.5);
    if (kind == 0) l += light * (a.y + a.z * soft(0.5 + 0.25 * (p.y - p.x)));
    else if (kind == 1) l += light * (1.0 + 2.0 * d.z) / 3.0;
    else if (kind == 2) l += light * soft(0.5 + dot(a.yz, p)) * soft(a.w - length(p));
    else if (kind == 3) l *= 1.0 - 0.9 * cover(p, a.yz, vec2(a.w, b.x), b.y);
    else if (kind == 4 || kind == 5) {
      float c = cover(p, a.yz, vec2(a.w, b.x), b.y), glass = 1.0;
      if (kind == 5) {
        float up = abs(p.x - a.y), level = abs(abs(p.y - a.z) - b.x / 3.0);
        glass = 0.06 + 0.94 * soft((up - 0.05) / 0.04 + 0.5) * soft((level - 0.05) / 0.04 + 0.5);
      }
      l = mix(l, light * glass, c);
    } else if (kind == 6) l += light * soft((a.w - length(d - normalize(vec3(a.yz, 1.0)))) / b.y + 0.5);
    else if (kind == 7) l = mix(l, light, soft((a.w - abs(length(p) - a.y)) / b.y + 0.5));
  }
  seen.rgb = l * leaves.w;
}`;

/** A face of the metal under the eye, and the groove that it is a flank of. */
const frame = `
uniform vec3 colours[17]; // of the stuff, over the cosine of incidence
uniform int count;
uniform float steepest; // sideways part of the normals that the piece is full of
uniform vec3 eye;       // inside, in the work's frame
uniform vec2 land;      // roughness of the ground, or 0 for the flanks of cuts
uniform vec3 cut;       // of flanks, along and across, and of a level floor
uniform float through;  // share of light from inside that reaches the eye
int samples; // beyond it a few will do
vec3 stuff(float c) {
  float x = clamp(c, 0.0, 1.0) * 16.0;
  int i = min(int(x), 15);
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
float standing(int i) { return fract(0.5 + float(i) * 0.5698402909980532); }
vec3 n, along, across, own; // own: the eye in the face's frame
vec2 rough;
float self;
float slope;    // of a groove's flanks; 0 is no groove
vec2 towards;   // the level way to the flank that faces this one
void stand(vec2 s) { // a face of that slope: its frame and roughness
  float q = dot(s, s);
  samples = q > steepest * steepest ? max(count / 5, 4) : count;
  if (q > 0.956484) { s *= 0.978 * inversesqrt(q); q = 0.956484; }
  n = vec3(s, sqrt(1.0 - q));
  float tilt = sqrt(q);
  if (land.x > 0.0) {
    along = normalize(vec3(n.z, 0.0, -s.x));
    rough = land;
    slope = 0.0;
    towards = vec2(0.0);
  } else {
    along = tilt > 1e-4 ? vec3(-s.y, s.x, 0.0) / tilt : vec3(1.0, 0.0, 0.0);
    rough = mix(cut.zz, cut.xy, soft((tilt - 0.1) / 0.12));
    slope = tilt > 1e-4 ? tilt / n.z : 0.0;
    towards = tilt > 1e-4 ? s / tilt : vec2(0.0);
    if (slope > 0.6 && samples == count) samples = 3 * count;
  }
  across = cross(n, along);
  own = vec3(dot(eye, along), dot(eye, across), dot(eye, n));
  self = hidden(rough, own);
}
// A ray from place u of a flank meets the one that faces it below the crest, and where.
bool meets(vec3 d, vec2 t, float u) { float s = slope * dot(d.xy, t); return s > d.z && u * (s + d.z) <= s - d.z; }
float place(vec3 d, vec2 t, float u) { float s = slope * dot(d.xy, t); return max(0.0, u * (s + d.z) / (s - d.z)); }
vec3 leaning(vec2 t) { float l = inversesqrt(1.0 + slope * slope); return vec3(t * slope * l, l); }
`;

/** What metal of every slope sends to the eye of the room without the lamp. */
export const room = `${head}
in vec2 at;
out vec4 sent;
uniform sampler2D mirrored;
${soft}${top}${frame}
vec3 facet(vec2 p) {
  vec3 h = normalize(vec3(rough * own.xy, own.z));
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
  vec3 gloss = over == 1.0 ? vec3(0.0)
    : textureLod(mirrored, vec2(0.5), 0.0).rgb * (1.0 - through) / through;
  sent = vec4(gloss, 1.0);
  if (own.z < 0.01) return;
  float share = 3.14159265 * rough.x * rough.y * own.z * (1.0 + self) / float(samples);
  vec3 total = vec3(0.0);
  for (int i = 0; i < samples; i++) {
    vec3 m = facet(spiral(i));
    float c = dot(own, m);
    vec3 way = 2.0 * c * m - own;
    if (way.z <= 0.0) continue;
    vec3 h = m.x * along + m.y * across + m.z * n;
    vec2 p = m.xy / rough;
    float q = dot(p, p) + m.z * m.z;
    float width = q * sqrt(share * max(h.z, 1e-4) / max(c, 1e-4));
    vec3 kept = stuff(c);
    float w = (1.0 + self) / (1.0 + self + hidden(rough, way));
    vec3 d = way.x * along + way.y * across + way.z * n;
    float u = standing(i);
    if (meets(d, towards, u) || holds(d)) {
      // Followed from flank to flank until it leaves, as package light does.
      vec2 t = towards;
      int times = 0;
      bool left = false;
      for (int k = 0; k < 9; k++) {
        if (meets(d, t, u)) { u = place(d, t, u); t = -t; }
        else if (d.z > 0.0 && holds(d) && slope > 0.0) {
          d.z = -d.z;
          u = fract(u + 0.3819660112501051);
          if (((i + times) & 1) == 0) t = -t;
          if (dot(d, leaning(t)) >= 0.0) t = -t;
        } else { left = d.z > 0.0; break; }
        vec3 f = leaning(t);
        float cf = -dot(d, f);
        if (cf <= 0.0) break;
        d += 2.0 * cf * f;
        kept *= stuff(cf);
        times++;
      }
      if (!left) continue;
      // Wide enough as it is: a quarter of the facets that package light takes stand for twice as much each.
      h = normalize(d + eye);
    } else if (d.z <= 0.0) continue;
    total += textureLod(mirrored, h.xy * 0.5 + 0.5, log2(max(width * 128.0, 1.0))).rgb * kept * w;
  }
  sent.rgb += total * through / float(samples);
}`;

/** The same with the lamp, which is sampled itself: by the flank alone, and by the flank that faces it as well. */
export const lamp = `${head}
in vec2 at;
out vec4 sent;
uniform sampler2D base;
uniform vec3 toLamp; // in the work's frame, in the air
uniform vec3 lampOwn; // colour of the lamp itself
uniform float radius, edge, strength, gain;
uniform float matte;
${soft}${top}${frame}
float arrives(vec3 way, vec2 a) { // of light that comes down way to the eye, by rough facets
  vec3 m = normalize(way + own);
  vec2 s = m.xy / a;
  float q = dot(s, s) + m.z * m.z;
  float D = 1.0 / (3.14159265 * a.x * a.y * q * q);
  return D / (4.0 * own.z * (1.0 + hidden(a, own) + hidden(a, way)));
}
vec3 inFace(vec3 d) { return vec3(dot(d, along), dot(d, across), dot(d, n)); }
void main() {
  stand(at * 2.0 - 1.0);
  if (matte > 0.5) { // chalk under a broad lamp: slope alone, no reflections
    float l = 0.10 + 0.75 * max(0.0, dot(n, toLamp)) + 0.12 * n.z;
    sent = vec4(vec3(l), 1.0);
    return;
  }
  vec3 l = texture(base, at).rgb;
  if (strength > 0.0 && own.z >= 0.01) {
    vec3 side = normalize(abs(toLamp.z) < 0.99 ? cross(toLamp, vec3(0.0, 0.0, 1.0)) : vec3(1.0, 0.0, 0.0));
    vec3 up = cross(toLamp, side);
    float most = radius + 0.5 * edge, disc = 3.14159265 * most * most;
    vec3 total = vec3(0.0);
    for (int i = 0; i < samples; i++) {
      vec2 p = spiral(i) * most;
      vec3 air = normalize(toLamp + p.x * side + p.y * up);
      if (air.z < 0.02) continue;
      vec3 d = inward(air);
      float shown = soft((radius - length(p)) / edge + 0.5);
      // Into enamel, the disc shrinks as its light bends down.
      if (over != 1.0) shown *= (1.0 - fresnel(over, air.z)) * air.z / (d.z * over * over);
      float u = standing(i);
      vec3 way = inFace(d);
      if (way.z > 0.01 && !meets(d, towards, u)) {
        vec3 m = normalize(way + own);
        total += shown * arrives(way, rough) * stuff(dot(m, own));
      }
      if (slope > 0.4) {
        // The flank that faces this one shows the lamp as a mirror does.
        vec3 f = leaning(-towards);
        float cf = dot(d, f);
        if (cf <= 0.0) continue;
        vec3 image = d - 2.0 * cf * f;
        if (!meets(image, towards, u)) continue;
        float v = place(image, towards, u);
        if (meets(d, -towards, v)) continue;
        way = inFace(image);
        if (way.z <= 0.01) continue;
        vec3 m = normalize(way + own);
        total += shown * arrives(way, rough) * stuff(dot(m, own)) * stuff(cf);
      }
    }
    l += total * disc / float(samples) * strength * through;
    if (over != 1.0) {
      float a = length(vec3(-eye.xy * over, sqrt(max(0.0, 1.0 - dot(eye.xy, eye.xy) * over * over))) - toLamp);
      l += lampOwn * strength * (1.0 - through) * soft((radius - a) / edge + 0.5);
    }
  }
  sent = vec4(max(l, 0.0) * gain, 1.0);
}`;

/** The layers of slopes under the light of the moment, averaged. */
export const gather = `${head}
in vec2 at;
out vec4 mean;
uniform sampler2DArray layers;
uniform sampler2D table, ground;
uniform int count;
uniform vec3 nothing; // radiance of what lies round the work
void main() {
  ivec2 p = ivec2(gl_FragCoord.xy);
  vec3 total = vec3(0.0);
  for (int i = 0; i < count; i++) {
    vec3 c = texelFetch(layers, ivec3(p, i), 0).rgb;
    vec2 g = (c.rg * 255.0 - 1.0) / 253.0;
    if (c.r == 0.0) total += nothing;
    else if (c.b > 0.5) total += texture(ground, g).rgb;
    else total += texture(table, g).rgb;
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
  vec3 c = clamp(tone(max(total, 0.0)), 0.0, 1.0);
  shown = vec4(mix(12.92 * c, 1.055 * pow(max(c, 1e-6), vec3(1.0 / 2.4)) - 0.055, step(0.0031308, c)), 1.0);
}`;
