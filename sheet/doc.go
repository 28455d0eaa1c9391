// Package sheet writes the cut sheet: the set-up as sentences, the sequence as a
// short table with a box for every cut, the piece as a drawing, and what to be
// careful of.
//
// One piece of code makes the words. New turns a job and its list of cuts into
// a Sheet; WriteText, WriteHTML and WritePDF only set it in type. A Sheet holds
// nothing of the clock and nothing random: the same job gives the same bytes.
//
// Lengths in the data are millimetres and angles radians, as everywhere. They
// become words here, in the job's units: millimetres to three decimals, inches
// to four, readings of the stroke to two and three, depths in microns (thou and
// microns for an inch workshop), counts always whole. A count is what the
// operator sets; the length it gives stands in brackets behind it.
package sheet
