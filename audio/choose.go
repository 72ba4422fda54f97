package audio

import (
	"fmt"
	"math"
)

// channelName is what people call a channel.
func channelName(channel, channels int) string {
	if channels == 2 {
		return [...]string{"left channel", "right channel"}[channel]
	}
	return fmt.Sprintf("channel %d", channel+1)
}

const (
	// deadUnder the loudest channel, dB, a channel holds nothing of use.
	deadUnder = 40
	// alike channels differ by less in contrast, dB, and correlate by more.
	alikeContrast    = 3
	alikeCorrelation = 0.8
	// clippedCost in dB of contrast for a share of clipped samples of 0.1 %.
	clippedCost = 3
)

// choose decides which signal of a take is measured: the channel in which the
// loud parts stand highest above the quiet ones, less what clipping costs it;
// or the mean of all when they are alike, for the noise of their microphones
// then averages out. meters are those of the channels, mean that of their mean
// (nil for one channel).
func choose(meters []*meter, mean *meter) Mix {
	n := len(meters)
	if n == 1 {
		return Mix{Channel: 0, Why: "it is the only channel"}
	}
	loudest := math.Inf(-1)
	for _, m := range meters {
		if l := m.levels.loud(); l > loudest { // NaN is not
			loudest = l
		}
	}
	if math.IsInf(loudest, -1) {
		return Mix{Channel: 0, Why: "no channel holds any sound"}
	}
	best, second, dead := -1, -1, 0
	score := make([]float64, n)
	for i, m := range meters {
		score[i] = math.Inf(-1)
		if !(m.levels.loud() > loudest-deadUnder) {
			dead++
			continue
		}
		score[i] = m.levels.contrast() - clippedCost*math.Log2(1+1000*m.clippedShare())
		switch {
		case best < 0 || score[i] > score[best]:
			best, second = i, best
		case second < 0 || score[i] > score[second]:
			second = i
		}
	}
	name := channelName(best, n)
	contrast := meters[best].levels.contrast()
	switch {
	case dead == n-1:
		return Mix{Channel: best, Why: fmt.Sprintf("the %s, for no other holds any sound", name)}
	case dead > 0:
		return Mix{Channel: best, Why: fmt.Sprintf("the %s: its strokes stand %.0f dB above its quiet parts; %d of the %d channels hold no sound", name, contrast, dead, n)}
	}
	alike := true
	for i := range meters {
		if score[i] < score[best]-alikeContrast {
			alike = false
		}
	}
	r := correlation(meters, mean)
	switch {
	case alike && r >= alikeCorrelation && mean.levels.contrast() >= contrast-1:
		return Mix{Channel: Sum, Why: fmt.Sprintf("the mean of %d channels, for they are alike (strokes %.0f dB above the quiet parts, correlation %.2f)", n, mean.levels.contrast(), r)}
	case r <= -0.5 && n == 2:
		return Mix{Channel: best, Why: fmt.Sprintf("the %s, for the channels have opposite polarity and would cancel (correlation %.2f)", name, r)}
	}
	why := fmt.Sprintf("the %s: its strokes stand %.0f dB above its quiet parts, %.0f dB in the %s", name, contrast,
		meters[second].levels.contrast(), channelName(second, n))
	if a, b := meters[best].clippedShare(), meters[second].clippedShare(); b > 2*a+1e-5 {
		why += ", which is clipped more"
	}
	return Mix{Channel: best, Why: why}
}

// correlation of the channels with one another, -1 to 1 for two, from the
// powers of each and of their mean: n^2 P(mean) = sum(P) + sum over pairs of
// the covariances, set against what it would be were they all equal but for
// their gain. NaN without sound.
func correlation(meters []*meter, mean *meter) float64 {
	var sum, root float64
	for _, m := range meters {
		p := m.levels.total()
		sum += p
		root += math.Sqrt(p)
	}
	n := float64(len(meters))
	return (n*n*mean.levels.total() - sum) / (root*root - sum)
}
