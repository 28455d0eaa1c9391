// Package depth holds what keeps the cut even: the guide that rests beside the
// cutter, the stop, and the hand; and what test cuts tell of them (Calibrate).
//
// MakePlan chooses how each run of cuts is to be held, in which order and from
// where, says why, and fills in the heights of the tip. Predict does so for holds
// that are given. Both go cut by cut in the order of cutting: the foot rests on
// the ground that the cuts before have left (ground, feeler), the tip stands below
// it by the extension and the flex, and the groove is carved before the next cut.
// Curved gives the swing and settings for work that is not flat.
//
// Lengths are millimetres, forces newtons, angles radians; z points out of the
// metal and is 0 at the nominal surface. Depth is below the uncut work, width
// across the stroke on work that is level there: on work sloping by s across, a
// groove is wider by the share (s·tan α)², a thousandth at 15 µm in the millimetre.
package depth
