package cutter

// Metal is what the cutter meets.
type Metal struct {
	Name     string
	Colour   string  // which of package light's metals it looks like
	Cutting  float64 // specific cutting force kc1.1 at a chip 1 mm thick, N/mm²; 0 is unknown
	Exponent float64 // mc of the Kienzle law
}
