// Package surface carves the cuts into a field of heights and measures what
// they leave: sections, lands and crests, texture figures.
//
// Lengths are millimetres in the frame of the work. Heights are millimetres above
// the nominal surface, so metal removed is below zero. The surface is the lowest
// of the blank and, over every cut, the tip's height plus |t|·cot α, with t
// measured from the edge of the tip flat along the V's own plane. A cut begins and
// ends square across, in the V's plane.
//
// A Carver holds the cuts. Carve lowers a Field in memory; Bands streams a grid of
// any size in bounded memory, with the flank that made each cell; Section takes
// heights along a line; Slope tells how a flank leans, smoothly along a curved
// path; Survey counts lands and crests and takes the texture over a region; Measure
// puts together what a job's surface will be.
//
// Texture figures follow the definitions of ISO 21920-2 (profiles) and ISO 25178-2
// (areas), unfiltered and from the mean height.
//
// Heights are float32, for speed: their rounding is 4 nm at most where cuts are
// under 0.1 mm deep. The same cuts give the same bits on any number of cores.
package surface
