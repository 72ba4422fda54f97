package compare

// Shift is the Hodges-Lehmann shift of after against before with its 95 % interval:
// the median of all differences, and the interval that belongs to the rank-sum test.
// The values are finite and of one unit, such as medians of lines. All is unknown
// where a sample is empty; the interval is where the samples are too small for it
// (of equal sizes: under four each).
func Shift(before, after []float64) Range {
	s := hodgesLehmann(before, after, level)
	return between(s.Shift, s.Low, s.High)
}
