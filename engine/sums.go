package engine

import "math"

// Strokes returns how many strokes of the crank, or turns of the spindle, the
// cuts take.
func (l *List) Strokes() int { return len(l.Cuts) }

// LengthCut returns the length of path in the metal, mm, over all cuts.
func (l *List) LengthCut() float64 {
	sum := 0.0
	for i := range l.Cuts {
		for j := range l.Cuts[i].Pieces {
			sum += l.Cuts[i].Pieces[j].Length()
		}
	}
	return sum
}

// Length returns the length of the piece's path, mm.
func (p *Piece) Length() float64 {
	sum := 0.0
	for i := 1; i < len(p.Path); i++ {
		a, b := &p.Path[i-1], &p.Path[i]
		x, y, z := b.X-a.X, b.Y-a.Y, b.Z-a.Z
		sum += math.Sqrt(float64(x*x) + float64(y*y) + float64(z*z))
	}
	return sum
}

// Seconds returns how long the cuts take at the engine's usual pace.
func (l *List) Seconds() float64 { return float64(len(l.Cuts)) * l.SecondsPerStroke }
