// Package blank describes the piece of metal: its outline, the windows and
// border that stay uncut, ground that must stay unmarked, and where on a path
// the cutter is over the field, the part to be cut.
//
// Lengths are millimetres in the frame of the work: the origin is the centre of
// the chuck, x across the stroke, y along it, before any turn of the chuck.
//
// # Distances
//
// Every question about ground is answered by a signed distance to its edge,
// negative on the ground. For one shape it is exact. Grounds are put together by
// the greatest of several distances: the outline drawn in by its border, and
// each window, grown by its border, turned inside out. On the ground that stays
// exact; off it, it is never more than the true distance; and it never changes
// by more than the place moves. A path can therefore be marched by it: a stretch
// shorter than the distance at its beginning crosses no edge.
//
// # Readings, form and truing
//
// Heights are read with z out of the metal. A reading is the nominal form of the
// blank (Nominal: flat, cylinder, dome, cone, turned) plus a plane plus what is
// left. The plane is what truing takes out: Readings.True finds it, by least
// squares or by least worst deviation over the field, and the turns of the
// chuck's screws against it. What is left is the Residual: bow, twist and bumps,
// with its uncertainty everywhere; beyond the readings it says that it is beyond
// them. A FormMap is a Residual worked out once for those who ask it for every
// cell of a surface.
//
// A Blank that has passed Check can be asked anything.
package blank
