package engine

// Dividing is one way to turn the work by an exact share of a turn: whole turns
// of the wheel, and so many holes of a circle besides.
type Dividing struct {
	Turns  int
	Holes  int
	Circle int
}

// Divide returns every exact way to divide a turn of the work into n with this
// wheel, one for each circle that allows it, in the order of the circles. It is
// empty when no circle does, and for n below 1.
//
// It is plain indexing as handbooks tabulate it: with a worm of 40 turns, 6
// divisions are 6 turns and 12 holes of 18.
func Divide(n int, w Wheel) []Dividing { return DivideTurn(1, n, w) }

// DivideTurn returns every exact way to turn the work by num/den of a turn.
func DivideTurn(num, den int, w Wheel) []Dividing {
	if num < 1 || den < 1 || w.Worm < 1 || num > mostCounts || den > mostCounts || w.Worm > mostCounts {
		return nil
	}
	all := int64(num) * int64(w.Worm)
	turns, rest := all/int64(den), all%int64(den)
	part := int64(den) / gcd(rest, int64(den)) // the circle has to be a multiple of it
	var ways []Dividing
	for _, c := range w.Circles {
		if c > 0 && int64(c)%part == 0 {
			holes := rest / gcd(rest, int64(den)) * (int64(c) / part)
			ways = append(ways, Dividing{Turns: int(turns), Holes: int(holes), Circle: c})
		}
	}
	return ways
}

// Convergents returns the convergents of the continued fraction of num/den, the
// last of which is num/den in lowest terms. Each is nearer to it than any
// fraction of a smaller denominator: the trains of wheels worth trying when the
// exact one cannot be had. It is empty unless both are above zero.
func Convergents(num, den int) [][2]int {
	var out [][2]int
	if num < 1 || den < 1 {
		return nil
	}
	p0, q0, p1, q1 := 0, 1, 1, 0
	for den != 0 {
		a := num / den
		p0, q0, p1, q1 = p1, q1, a*p1+p0, a*q1+q0
		out = append(out, [2]int{p1, q1})
		num, den = den, num%den
	}
	return out
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return max(a, -a)
}
