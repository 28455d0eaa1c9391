// Package export writes what the program makes in the formats that other
// programs and machines take: bars and rosettes to be cut out, printed or
// milled; the cuts of a piece; and the surface they leave.
//
// Every writer takes an io.Writer and the thing to be written, streams in
// bounded memory, writes the same bytes each time (nothing tells the clock) and
// returns a summary of what it wrote. Whoever calls it sees to it that a file is
// written whole or not at all.
//
// # Outlines
//
// A Template is the closed outline of a bar or a rosette: the edge that the
// touchpiece runs on, the back, the ends, and the holes for the mounting pins.
// Its loops consist of straight lines and circular arcs. Straight lines and arcs
// of the edge are kept; every other curve is put together from chords that stay
// within a stated tolerance, whose bound is proved where it is computed.
//
// # Flat formats
//
// SVG in true millimetres, DXF R12 (AC1009) and 2000 (AC1015), CSV, G-code in
// the words of RS-274/NGC, and drawings at true scale as PDF, SVG and PNG.
package export
