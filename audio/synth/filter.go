package synth

import "math"

// biquad is a second-order filter. Coefficients follow R. Bristow-Johnson's
// "Cookbook formulae for audio equalizer biquad filter coefficients" (from
// memory). All filters here are causal: nothing sounds before it starts.
type biquad struct {
	b0, b1, b2, a1, a2 float64
	z1, z2             float64
}

func (q *biquad) next(x float64) float64 {
	y := q.b0*x + q.z1
	q.z1 = q.b1*x - q.a1*y + q.z2
	q.z2 = q.b2*x - q.a2*y
	return y
}

func cook(b0, b1, b2, a0, a1, a2 float64) biquad {
	return biquad{b0: b0 / a0, b1: b1 / a0, b2: b2 / a0, a1: a1 / a0, a2: a2 / a0}
}

func bandPass(f, q, rate float64) biquad {
	s, c := math.Sincos(2 * math.Pi * f / rate)
	al := s / (2 * q)
	return cook(al, 0, -al, 1+al, -2*c, 1-al)
}

func lowPass(f, q, rate float64) biquad {
	s, c := math.Sincos(2 * math.Pi * min(f, 0.49*rate) / rate)
	al := s / (2 * q)
	return cook((1-c)/2, 1-c, (1-c)/2, 1+al, -2*c, 1-al)
}

func highPass(f, q, rate float64) biquad {
	s, c := math.Sincos(2 * math.Pi * f / rate)
	al := s / (2 * q)
	return cook((1+c)/2, -(1 + c), (1+c)/2, 1+al, -2*c, 1-al)
}

// peaking lifts or lowers a band by db around f.
func peaking(f, q, db, rate float64) biquad {
	a := math.Pow(10, db/40)
	s, c := math.Sincos(2 * math.Pi * min(f, 0.45*rate) / rate)
	al := s / (2 * q)
	return cook(1+al*a, -2*c, 1-al*a, 1+al/a, -2*c, 1-al/a)
}

// highShelf lifts or lowers all above f by db.
func highShelf(f, db, rate float64) biquad {
	a := math.Pow(10, db/40)
	s, c := math.Sincos(2 * math.Pi * min(f, 0.45*rate) / rate)
	al := s / 2 * math.Sqrt2
	r := 2 * math.Sqrt(a) * al
	return cook(a*((a+1)+(a-1)*c+r), -2*a*((a-1)+(a+1)*c), a*((a+1)+(a-1)*c-r),
		(a+1)-(a-1)*c+r, 2*((a-1)-(a+1)*c), (a+1)-(a-1)*c-r)
}

// steepLowPass is an eighth-order Butterworth low pass.
func steepLowPass(f, rate float64) []biquad {
	var out []biquad
	for i := range 4 {
		q := 1 / (2 * math.Cos(math.Pi*float64(2*i+1)/16))
		out = append(out, lowPass(f, q, rate))
	}
	return out
}

// chain is filters in a row.
type chain []biquad

func (c chain) next(x float64) float64 {
	for i := range c {
		x = c[i].next(x)
	}
	return x
}
