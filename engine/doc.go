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
// Rose engine: r(θ) = slide + rocking·p(θ + shift), and the tip rises by
// pumping·q(θ + shift), where p and q are the paths of the rubbers over the
// rosettes; θ is measured on the work.
//
// Settings are whole teeth, holes or divisions from the engine's zero; a length
// is computed from them and never stored beside them.
package engine
