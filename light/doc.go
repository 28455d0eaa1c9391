// Package light shows what the cuts will look like: metals by their measured
// optical constants, a room with a lamp in it, and the picture of the piece.
//
// # Frames and units
//
// Lengths are millimetres in the frame of the work (x across the stroke, y along
// it, z out of the metal), angles radians. In a picture x runs to the right and y
// upwards. The eye looks straight down on the work from a stated height; a
// lamp's azimuth is counted from x towards y and its elevation from the surface.
// Radiance is linear sRGB (IEC 61966-2-1 primaries, D65 white) relative to paper
// white in the room.
//
// # How a picture is made
//
// A flank's normal is taken from the cut itself, never from a field of heights,
// and normals are never averaged. Because tool marks run along the cut, what a
// flank sends to the eye depends on its slope alone; so the light is worked out
// once for all slopes, in a table (see sheen), and a picture only looks it up, at
// both ends of every short run of samples on one flank.
// The surface is carved at n×n samples to the pixel, and where two samples lie on
// different flanks the edge between them is placed exactly, where the flanks'
// planes meet, so that grooves finer than a pixel leave no false rings.
//
// # What is simulated, and what is not
//
// Single reflection from a rough metal (GGX microfacets with height-correlated
// Smith shadowing: Walter et al. 2007, Heitz 2014) with the metal's own Fresnel
// colour. Light thrown from one flank to another, and the shadow of a flank in a
// groove steeper than 45°, are left out; for the wide cutters of bright work both
// are nearly nil.
package light
