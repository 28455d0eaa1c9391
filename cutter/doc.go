// Package cutter models the V-cutter: the section it leaves, the slope of path
// at which its heel rubs, the chip it takes and the force that needs.
//
// Lengths are millimetres, angles radians, forces newtons. The V lies in the
// plane of the cutter's face, which stands square to the stroke and does not
// turn with the path.
//
// The force is an order of magnitude, not a reading: the law behind it was drawn
// from turned and milled chips many times thicker than an engraver's, and makers'
// figures for one metal differ by a third. It is given as a band, and Extrapolated
// says when it stands outside the law's own ground.
package cutter
