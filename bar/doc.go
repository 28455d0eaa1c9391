// Package bar draws pattern bars and rosettes, runs the touchpiece along their
// edge, and says what of the edge the touchpiece cannot reach.
//
// A bar's edge is a height h(y) above its datum line along the stroke; a
// rosette's edge is a height h(θ) above its mean radius round the spindle.
// Lengths are millimetres, angles radians. The touchpiece is a round nose of
// radius ρ; its centre runs on the pitch curve, the upper envelope of the discs
// of radius ρ set on the edge.
package bar
