// Package light shows what the cuts will look like: metals by their measured
// optical constants, a room with a lamp in it, and the picture of the piece.
//
// # Frames and units
//
// Lengths are millimetres in the frame of the work (x across the stroke, y along
// it, z out of the metal), angles radians. In a picture x runs to the right and y
// upwards. The eye looks straight down on the work from a stated height, or on work
// that leans in the hand; a lamp's azimuth is counted from x towards y and its elevation from the surface.
// Radiance is linear sRGB (IEC 61966-2-1 primaries, D65 white) relative to paper
// white in the room.
//
// # How a picture is made
//
// A flank's normal is taken from the cut itself, never from a field of heights,
// and normals are never averaged: a pixel is the mean of the radiance of all that it
// covers, as the eye takes it. Because tool marks run along the cut, what a
// flank sends to the eye depends on its slope alone; so the light is worked out
// once for all slopes, in a table (see sheen), and a picture only looks it up, at
// both ends of every short run of samples on one flank. Uncut ground has a finish,
// and so a table, of its own.
// The surface is carved at n×n samples to the pixel, and where two samples lie on
// different flanks the edge between them is placed exactly, where the flanks'
// planes meet, so that grooves finer than a pixel leave no false rings.
//
// # What is simulated, and what is not
//
// Rough metal (GGX microfacets with height-correlated Smith shadowing: Walter et al.
// 2007, Heitz 2014) with the metal's own Fresnel colour from its optical constants.
// Each facet's ray starts somewhere on its flank and is followed while it meets the
// flank that faces it, or is thrown back by enamel above, until it leaves: so come
// the shadow in a groove, the horizon of its crests and the light that its flanks
// throw at each other (see groove). For the table, a groove's two flanks lean alike
// and are met evenly from root to crest. That is right on the whole, with lands or
// without and where cuts cross (TestCrossingAgainstOutside); but a loupe's view of
// narrow grooves shows a flank's mean, not its shade towards the root. A leaned piece
// is lit as leaned and drawn as from above. Light that facets of one flank throw at
// each other is lost, as in most uses of the model (the furnace test has figures);
// polarisation is not followed from flank to flank.
package light
