// Package blank describes the piece of metal: its outline, the windows and
// border that stay uncut, ground that must stay unmarked, and where on a path
// the cutter is over the field, the part to be cut.
//
// Lengths are millimetres in the frame of the work: the origin is the centre of
// the chuck, x across the stroke, y along it, before any turn of the chuck.
package blank
