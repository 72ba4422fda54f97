package onset

import "math"

// otherLanding is by how many seconds the usual landings of two readings of a take
// must lie apart to be different sounds.
const otherLanding = 0.004

// rival is by how much guess best, by its value, leads the best one that takes other
// sounds for the landings; NaN where no guess does.
func rival(guesses []model, values []float64, best int) float64 {
	lead := math.NaN()
	for g := range guesses {
		if math.Abs(guesses[g].delay[0].ready-guesses[best].delay[0].ready) < otherLanding {
			continue
		}
		if d := values[best] - values[g]; !(d > lead) {
			lead = d
		}
	}
	return lead
}
