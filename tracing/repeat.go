package tracing

import "math"

// wave finds the shortest length after which the heights repeat within alike, given
// at least two waves of them. It returns 0 when there is none. The length is that
// for which as many waves as are drawn agree best; off is the greatest difference
// between any two places a wave apart.
func (c *heights) wave(alike float64) (λ, off float64) {
	const m = 4096
	step := c.span() / m
	g := make([]float64, m+1)
	for i := range g {
		g[i] = c.at(c.first() + float64(i)*step)
	}
	// Mean squared difference at a lag of k steps.
	lag := func(k int) float64 {
		sum := 0.0
		for i := 0; i+k <= m; i++ {
			d := g[i+k] - g[i]
			sum += d * d
		}
		return sum / float64(m-k+1)
	}
	low, high := c.extremes()
	if !(high-low > 4*alike) { // nothing that would be told from its repeats
		return 0, 0
	}
	prev, this := lag(1), lag(2)
	for k := 2; k < m/2+1; k++ {
		next := lag(k + 1)
		// Once over the first rise, every dip may be a wave.
		if this <= prev && this < next && this < 0.1*(high-low)*(high-low) {
			λ := float64(k) * step
			for waves := 1; ; waves *= 2 {
				many := float64(waves) * λ
				if waves > 1 && many > 0.75*c.span() {
					break
				}
				λ = c.bestLag(many, step) / float64(waves)
			}
			if off := c.apart(λ); off <= alike {
				return λ, off
			}
		}
		prev, this = this, next
	}
	return 0, 0
}

// bestLag returns the lag near λ, within a step, at which the heights agree best in
// the mean square: golden section.
func (c *heights) bestLag(λ, step float64) float64 {
	const golden = 0.6180339887498949
	miss := func(λ float64) float64 {
		const n = 2000
		sum := 0.0
		room := c.span() - λ
		for i := range n {
			x := c.first() + room*(float64(i)+0.5)/n
			d := c.at(x+λ) - c.at(x)
			sum += d * d
		}
		return sum / n
	}
	a, b := λ-step, min(λ+step, c.span()*0.999)
	p, q := b-golden*(b-a), a+golden*(b-a)
	fp, fq := miss(p), miss(q)
	for b-a > 1e-9*λ {
		if fp < fq {
			b, q, fq = q, p, fp
			p = b - golden*(b-a)
			fp = miss(p)
		} else {
			a, p, fp = p, q, fq
			q = a + golden*(b-a)
			fq = miss(q)
		}
	}
	return (a + b) / 2
}

// apart returns the greatest difference between two places λ apart. Both sides are
// straight between their corners, so it is at one of them.
func (c *heights) apart(λ float64) float64 {
	most := 0.0
	for i, x := range c.x {
		if x+λ <= c.last() {
			most = max(most, math.Abs(c.at(x+λ)-c.h[i]))
		}
		if x-λ >= c.first() {
			most = max(most, math.Abs(c.at(x-λ)-c.h[i]))
		}
	}
	return most
}

// count finds the greatest number of times that heights over a whole turn repeat
// within alike, and how far they differ.
func (c *heights) count(alike float64) (n int, off float64) {
	low, high := c.extremes()
	if !(high-low > 4*alike) {
		return 1, 0
	}
	const turn = 2 * math.Pi
	round := func(x float64) float64 {
		x -= c.first()
		return c.at(c.first() + x - turn*math.Floor(x/turn))
	}
	for n = mostRepeats; n > 1; n-- {
		off = 0
		for i := 0; i < 720 && off <= alike; i++ { // most are refused here
			x := c.first() + turn*float64(i)/720*0.999
			off = max(off, math.Abs(round(x+turn/float64(n))-round(x)))
		}
		for i := 0; i < len(c.x) && off <= alike; i++ {
			off = max(off, math.Abs(round(c.x[i]+turn/float64(n))-c.h[i]), math.Abs(round(c.x[i]-turn/float64(n))-c.h[i]))
		}
		if off <= alike {
			return n, off
		}
	}
	return 1, 0
}

// mostRepeats bounds the repeats looked for round a rosette.
const mostRepeats = 720

// phase returns the place, within a wave, through which the first harmonic rises.
func (c *heights) phase(λ float64) float64 {
	const n = 1024
	sin, cos := 0.0, 0.0
	for i := range n {
		x := float64(i) / n
		h := c.at(c.first() + λ*x)
		s, k := math.Sincos(2 * math.Pi * x)
		sin += h * s
		cos += h * k
	}
	// h ≈ a·sin(2π(x−x₀)/λ), so that sin = a·cos x₀ and cos = −a·sin x₀.
	at := c.first() + λ*math.Atan2(-cos, sin)/(2*math.Pi)
	if at < c.first() {
		at += λ
	}
	return at
}
