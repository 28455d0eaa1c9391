// Package tracing takes the edge of a bar or rosette from what somebody has drawn
// or photographed: an SVG or DXF drawing, a table of points, a picture of a worn
// bar.
//
// # Frame
//
// A Drawing is a list of lines, mm, x to the right and y up. Edge takes one of
// them, or the silhouette of all, as the edge of a bar (height y over the place x)
// or of a rosette (radius over the angle about a centre, counter-clockwise from
// +x). The touchpiece comes from above: of a closed outline the upper side counts.
//
// # Curves
//
// Curves become straight lines that lie nowhere further from them than
// Options.Tolerance. A curve P(t) followed in n equal steps of t strays from its
// chords by at most max|P″|·(1/n)²/8 (the error of linear interpolation, any text
// on numerical analysis). For a Bézier curve of degree k, |P″| is at most k(k−1)
// times the greatest second difference of its control points; for an ellipse over
// an angle φ it is φ² times the half major axis. A rational curve is halved until
// its control points lie within the tolerance of the chord: with weights above 0
// the curve stays inside their hull.
//
// # Honesty
//
// What is mended (ends joined, doubled lines dropped, points thinned) is told as a
// Remark; what cannot be mended safely is a fault with its place. Files are read
// under limits of bytes, elements and points that hold before memory is spent.
//
// # Photographs
//
// The outline is found where the light passes a threshold (Otsu 1979), and each
// place of it is then moved along its normal to where a sharp edge would let the
// same light through: for a step from D to L blurred by any symmetric spread,
// ∫(L−I)/(L−D) over a length that holds the whole blur is the distance to the edge.
// That needs values in proportion to light, so coded values are decoded
// (IEC 61966-2-1) unless told otherwise.
package tracing
