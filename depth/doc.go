// Package depth holds what keeps the cut even: the guide that rests beside the
// cutter, the stop, and the hand; and what test cuts tell of them (Calibrate).
//
// Lengths are millimetres, forces newtons; z points out of the metal and is 0
// at the nominal surface.
package depth
