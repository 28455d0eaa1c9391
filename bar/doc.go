// Package bar draws pattern bars and rosettes, runs the touchpiece along their
// edge, and says what of the edge the touchpiece cannot reach.
//
// # Frames
//
// A bar's edge is a height h(y), mm, above its datum line; y runs along the
// stroke, mm. A rosette's edge stands h(θ) above its mean radius; θ runs round
// the spindle, rad. Places along an edge are therefore mm on a bar and rad on a
// rosette, and slopes are mm per mm or mm per rad. Every repeating figure rises
// through its datum at 0 and has its first crest a quarter of a wave further on,
// so that one bar can replace another without a change of phase. A rosette is
// its drawing wrapped round the mean radius: y = Radius·θ, one wave being
// 1/Count of the way round.
//
// # Touchpiece
//
// The touchpiece (the rubber of a rose engine) is a round nose of radius ρ. Its
// centre runs on the pitch curve, the upper envelope of the discs of radius ρ
// set on the edge: at s it stands at
//
//	max over y of h(y) + √(ρ² − (s−y)²)                      on a bar,
//	max over θ of r(θ)·cos(θ−s) + √(ρ² − r(θ)²·sin²(θ−s))     on a rosette,
//
// since the centre of a rubber moves on a fixed radial line. Where the nose
// bears on one place of the edge the centre is offset by ρ along the normal
// (pitch and cam profile of any cam text). The lift is the height of the centre
// less ρ (and less the mean radius), so that a plain edge gives 0.
//
// Two discs of one radius pass each other at most once, so the place that bears
// moves along the edge in one direction as the stroke goes on. Follow rests on
// this: it takes the edge apart into monotone pieces, leaves out what is hollower
// than the nose, and sweeps once over the rest, in time linear in the pieces.
//
// Slopes and curvatures: the touchpiece reaches all of an edge whose hollows have
// nowhere a radius of curvature below ρ. For a sine the smallest hollow radius
// is λ²/(4π²a) and the steepest slope atan(2πa/λ).
//
// # The inverse job
//
// Want.Inverse finds the edge to make for a path wanted on the work. The edge must
// lie under the nose wherever its centre stands on the path, so the highest edge is
// the lower envelope of the noses:
//
//	min over s of p(s) + ρ − √(ρ² − (s−y)²)                  on a bar,
//	min over s of c(s)·cos(θ−s) − √(ρ² − c(s)²·sin²(θ−s))     on a rosette,
//
// with p the lift wanted and c the radius on which the centre runs. Turned inside
// out it is the upper envelope again, so the same sweep finds it. Following it gives
// the highest path nowhere above the one wanted (its opening); that is the path
// wanted itself if and only if no bump of it is sharper than the nose, the published
// condition that a cam's centre path have no convex radius below the roller's. Else
// the edge comes to a corner, and the nearest edge in the sense of the least
// greatest departure is the opening of the path raised until both sides depart alike.
//
// Make runs the tool that makes the edge along it: the same envelope with the
// tool's radius. It leaves metal in hollows tighter than itself, which matters to no
// touchpiece that is as large as the tool. The exact edge of an inverse job has no
// hollow tighter than its touchpiece.
package bar
