package diagnose

import "math"

// logisticFit is logit P(yes) = Intercept + Slope x with the standard errors
// that the information matrix gives.
type logisticFit struct {
	Intercept, Slope     float64
	InterceptSE, SlopeSE float64
}

// logistic fits by maximum likelihood (Newton's steps, halved where they would
// make it worse). ok is false where there is no finite fit: all answers alike, or
// the answers wholly apart in x.
func logistic(x []float64, yes []bool) (f logisticFit, ok bool) {
	n := len(x)
	if n < 3 {
		return f, false
	}
	// Scaled, so that steps are alike whatever x is.
	middle, scale := Median(x), MADToSD*MAD(x)
	if !(scale > 0) {
		return f, false
	}
	like := func(a, b float64) float64 {
		sum := 0.0
		for i, v := range x {
			eta := a + b*(v-middle)/scale
			if yes[i] {
				eta = -eta
			}
			sum -= math.Log1p(math.Exp(-math.Abs(eta))) + math.Max(eta, 0)
		}
		return sum
	}
	var a, b, haa, hab, hbb float64
	at := like(a, b)
	for range 60 {
		var ga, gb float64
		haa, hab, hbb = 0, 0, 0
		for i, v := range x {
			u := (v - middle) / scale
			p := 1 / (1 + math.Exp(-a-b*u))
			d := -p
			if yes[i] {
				d = 1 - p
			}
			w := p * (1 - p)
			ga, gb = ga+d, gb+d*u
			haa, hab, hbb = haa+w, hab+w*u, hbb+w*u*u
		}
		det := haa*hbb - hab*hab
		if !(det > 1e-12) {
			return f, false
		}
		da, db := (hbb*ga-hab*gb)/det, (haa*gb-hab*ga)/det
		step := 1.0
		next := like(a+da, b+db)
		for next < at && step > 1e-6 {
			step /= 2
			next = like(a+step*da, b+step*db)
		}
		a, b = a+step*da, b+step*db
		if math.Abs(a) > 50 || math.Abs(b) > 50 {
			return f, false
		}
		if math.Abs(step*da)+math.Abs(step*db) < 1e-10 {
			break
		}
		at = next
	}
	det := haa*hbb - hab*hab
	if !(det > 1e-9) {
		return f, false
	}
	va, vb, vab := hbb/det, haa/det, -hab/det
	f.Slope, f.SlopeSE = b/scale, math.Sqrt(vb)/scale
	shift := middle / scale
	f.Intercept = a - b*shift
	f.InterceptSE = math.Sqrt(math.Max(va-2*shift*vab+shift*shift*vb, 0))
	return f, true
}
