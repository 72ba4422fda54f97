package diagnose

import (
	"math"
	"slices"
)

// Profile is the carriage's travel along the line.
//
// A carriage of mass m, pulled with force F against drag D, makes a space of
// pitch p in sqrt(2 p m / (F - D)): 1/travel^2 is proportional to net pull,
// whatever the mass. The line is a Theil-Sen line through 1/travel^2 against
// position, which odd strokes do not bend.
type Profile struct {
	// Points are the strokes with a known travel, in order of the take.
	Points []ProfilePoint
	// From and To are the positions between which the line is drawn: the first
	// and the last that a point stands at.
	From, To int
	// Slope (1/s^2 a space, with its 95 % interval Low, High; Sen 1968) and
	// Intercept (1/s^2 at position 0) of 1/travel^2.
	Slope, Low, High, Intercept Number
	// PullLost is the share of the net pull at From that is gone at To, for
	// instance 0.25; negative when the pull grows. LostLow and LostHigh are its
	// 95 % interval: the slope's, turned about the line's middle.
	PullLost, LostLow, LostHigh Number
	// Why says why the line is unknown; empty when it is known.
	Why string
}

// ProfilePoint is one stroke's travel.
type ProfilePoint struct {
	Stroke   int
	Position int
	TravelMS float64
}

// A line needs some points and some of the line's length to say anything.
const (
	fewestProfile  = 20
	shortestExtent = 10
)

// TravelProfile looks at a measured take's travel along the line.
func TravelProfile(t *Take) Profile {
	p := Profile{
		Points: []ProfilePoint{},
		Slope:  Unknown(), Low: Unknown(), High: Unknown(), Intercept: Unknown(),
		PullLost: Unknown(), LostLow: Unknown(), LostHigh: Unknown(),
	}
	var x, y []float64
	for _, s := range t.Strokes {
		if !s.TravelMS.Known() || s.TravelMS <= 0 {
			continue
		}
		travel := float64(s.TravelMS)
		p.Points = append(p.Points, ProfilePoint{s.Index, s.Position, travel})
		x = append(x, float64(s.Position))
		y = append(y, 1e6/(travel*travel))
	}
	if len(x) > 0 {
		p.From, p.To = int(slices.Min(x)), int(slices.Max(x))
	}
	switch {
	case !t.Recording.Usable:
		p.Why = "the recording is not usable"
	case len(x) < fewestProfile:
		p.Why = "too few strokes with a known travel"
	case p.To-p.From < shortestExtent:
		p.Why = "the lines are too short"
	}
	if p.Why != "" {
		return p
	}
	line := theilSen(x, y, level)
	p.Slope, p.Low, p.High, p.Intercept = Number(line.Slope), Number(line.Low), Number(line.High), Number(line.Intercept)

	middle, height := Median(x), Median(y)
	lost := func(slope float64) Number {
		from := height + slope*(float64(p.From)-middle)
		to := height + slope*(float64(p.To)-middle)
		if from <= 0 {
			return Unknown() // no pull to lose
		}
		return Number(1 - to/from)
	}
	p.PullLost, p.LostLow, p.LostHigh = lost(line.Slope), lost(line.High), lost(line.Low)
	return p
}

// TravelAt is the travel in milliseconds that the line gives at a position;
// unknown where it gives none.
func (p Profile) TravelAt(position float64) Number {
	pull := float64(p.Intercept) + float64(p.Slope)*position
	if !(pull > 0) {
		return Unknown()
	}
	return Number(1000 / math.Sqrt(pull))
}
