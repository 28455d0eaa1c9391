// Package inspect compares the widths measured on a finished piece with those that
// the plan foretold, and looks for the causes of what is off.
//
// # What the microscope sees
//
// A groove's width is taken across the stroke, in the plane of the V, between the
// two edges of its flanks. An edge is where the flank comes out at the ground or,
// where grooves run into one another, the crest left by the neighbour: the lower
// of the two surfaces is what remains, whichever was cut first. So a width tells
// of the groove's own depth on both sides and, at a crest, of the neighbour's
// depth and of the step between the two. The pitch is the distance in the same
// direction from the axis of the groove to that of the cut before it.
//
// The heights of the tip are those below the uncut work, as depth.Plan.Grooves
// has them; the ground is level. A place where another cut has taken the
// groove's bottom away shows no width. A width may be read while the piece is
// still being cut: Reading.After says which cuts were there.
//
// # Causes
//
// A cause is a displacement of the cuts: deeper, along the slide, round with the
// work, along with the bar, or another V. Its size is found by Gauss–Newton
// through the forward model, never from a shape drawn by hand. Depth held by the
// guide, by the stop and at a fixed height answers differently: see response.
//
// Which causes are named is decided by the extended Bayesian information criterion
//
//	χ² + Σ (p·ln n + 2·ln K + 2·ln M)
//
// (J. Chen and Z. Chen 2008; from memory) over the causes named: p its free
// numbers, n the readings, K the cuts, periods and teeth that were tried for it, M
// the kinds of cause on offer. The plain criterion, without K and M, would name a
// cause on every fifth clean piece; AICc more often still. A single wrong reading
// is one of the causes on offer, so one or two gross misreadings are named as such
// and pull nothing. χ² is against the stated repeatability of a width, or that
// told by repeats; where the best explanation leaves more than that, the scatter
// found takes its place.
package inspect
