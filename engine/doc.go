// Package engine knows the kinematics of straight line engines and rose
// engines: screws, ratchets, index wheels and the sequences worked on them. It
// turns a set-up and a sequence into the list of cuts that every other package
// reads.
//
// # Frames
//
// Lengths are millimetres, angles radians. In the frame of the machine x runs
// across the stroke, y along it, z out of the metal, with z = 0 at the nominal
// surface; the cutter stands at the origin's slide reading. In the frame of the
// work the origin is the chuck's centre. With the chuck turned by A the point
// (x, y) of the machine lies at R(A)·(x, y) on the work, so that successive
// holes of the index wheel lay cuts counter-clockwise, seen from the cutter.
//
// Straight line engine: the tip runs on x = slide + lever·p(y + shift), where
// p is the touchpiece's path over the bar and y the stroke's reading. The slide
// and the stroke read zero over the chuck's centre.
//
// Rose engine: at the spindle's reading s the tip stands at the radius
// slide + rocking·p(s + shift), in the direction θ = s + A of the work, and
// higher by pumping·q(s + shift); p and q are the paths of the rubbers over the
// rosettes. A ring needs a radius above 0 everywhere: as r → 0 its slope
// tan ψ = (dr/dθ)/r grows without bound and the path runs along the V.
//
// Settings are whole teeth, holes or divisions from the engine's zero; a length
// is computed from them and never stored beside them. Wishes are kept as exact
// fractions until they are rounded, so an inch screw of 14 threads is 127/70 mm
// and a wish that comes out in whole teeth has an error of exactly 0.
//
// # From sequence to cuts
//
// Setup.Cuts counts the sequence before it works it and refuses more than
// MaxCuts, MaxMotions or MaxVertices; works it motion by motion in whole counts;
// clips each cut to the field by marching along the path by the distance to the
// field's edge (no gap longer than 0.01 mm is missed, ends lie within 10⁻⁶ mm of
// the edge); and samples it to Setup.Chord. A bar's motion is taken apart once,
// into cells that are straight to a sixteenth of the chord error, and cells are
// put together into chords as long as a strip of that width allows, so that also
// a part of a chord keeps the bound; corners of the path are always vertices. A
// reader that needs the path's direction more finely asks for a smaller Chord.
//
// What whole counts do to a sequence that goes round is said in List.Closures,
// with whole settings that would close it, reckoned in fractions. Divide and
// Convergents are the dividing tables of the handbooks.
package engine
