// Package sight reckons what the eye makes of a piece: how bright the pattern is for
// every place of the lamp (the light rose), how evenly the field takes the light, how
// much of it flashes and where from, how it sparkles, and how small a fault in the
// width or the place of a line still shows.
//
// Lengths are millimetres and angles radians unless a name or a comment says
// otherwise; a width error or a displacement that shows is in micrometres, as it is
// measured. Luminance is the eye's weight of linear sRGB. What the eye can do is
// taken from published figures, named beside the constants in eye.go.
package sight
