// Package surface carves the cuts into a field of heights and measures what
// they leave: sections, lands and crests, texture figures.
//
// Heights are millimetres above the nominal surface, so metal removed is below
// zero. The surface is the lowest of the blank and, over every cut, the tip's
// height plus |t|·cot α, with t measured from the tip along the V's own plane.
package surface
