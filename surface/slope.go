package surface

// Slope returns the slope of a facet's flank at (x, y): how much the height
// changes for 1 mm along x and along y. Along a curved path the slope turns
// smoothly, as the true path does; at a true corner of the path it jumps.
func (k *Carver) Slope(facet int32, x, y float64) (dzdx, dzdy float64) {
	panic("surface: Slope is being written")
}
