// Package cutter models the V-cutter: the section it leaves, the slope of path
// at which its heel rubs, the chip it takes and the force that needs.
//
// Lengths are millimetres, angles radians, forces newtons. The V lies in the
// plane of the cutter's face, which stands square to the stroke and does not
// turn with the path.
package cutter
