package diagnose

import "loosedog/onset"

// Learnt is what the take taught about its own sounds; null or empty where it
// taught nothing.
type Learnt struct {
	// Thin says why that is too little to trust; null when it is enough.
	Thin *string `json:"thin"`
	// Pairs tells whether release and landing can be heard apart.
	Pairs   bool   `json:"release_and_landing_apart"`
	NoiseDB Number `json:"noise_db"` // re full scale, in 10 ms
	// BandsHz are the edges of the bands of the spectra.
	BandsHz [][2]float64 `json:"bands_hz"`
	Sounds  []Sound      `json:"sounds"`
	Lead    Spread       `json:"lead_ms"`    // of letters
	Latency Spread       `json:"latency_ms"` // of all strokes, as the travel
	Travel  Spread       `json:"travel_ms"`
}

// Sound is one kind of sound: how often it was heard where it should be, how
// loud it is (peak, dB re full scale) and how that is shared out over the bands
// (dB re the whole; empty when too few were heard).
type Sound struct {
	Sound      string   `json:"sound"`
	Heard      int      `json:"heard"`
	Share      Number   `json:"share"`
	LevelDB    Number   `json:"level_db"`
	SpreadDB   Number   `json:"spread_db"` // median absolute deviation
	SpectrumDB []Number `json:"spectrum_db"`
}

// Spread is the middle of N values and their median absolute deviation.
type Spread struct {
	Median Number `json:"median"`
	MAD    Number `json:"mad"`
	N      int    `json:"n"`
}

// learnt puts what was learnt into the take's own terms: milliseconds, null.
func learnt(l *onset.Learnt) Learnt {
	out := Learnt{
		Pairs:   l.Pairs,
		NoiseDB: Number(l.NoiseLevel),
		BandsHz: l.Bands,
		Sounds:  []Sound{},
		Lead:    spread(l.Lead, 1000),
		Latency: spread(l.Latency, 1000),
		Travel:  spread(l.Travel, 1000),
	}
	if out.BandsHz == nil {
		out.BandsHz = [][2]float64{}
	}
	if l.Thin != "" {
		out.Thin = &l.Thin
	}
	for _, s := range []struct {
		name string
		of   onset.Sound
	}{{"strike", l.Strike}, {"thump", l.Thump}, {"trip", l.Trip}, {"release", l.Release}, {"landing", l.Landing}} {
		level := spread(s.of.Level, 1)
		all := Sound{Sound: s.name, Heard: level.N, Share: Number(s.of.Share), LevelDB: level.Median, SpreadDB: level.MAD, SpectrumDB: []Number{}}
		if level.N == 0 && s.of.Share == 0 {
			all.Share = Unknown()
		}
		for _, v := range s.of.Spectrum {
			all.SpectrumDB = append(all.SpectrumDB, Number(v))
		}
		out.Sounds = append(out.Sounds, all)
	}
	return out
}

// spread scales a spread, which is unknown when it rests on nothing.
func spread(s onset.Spread, scale float64) Spread {
	if s.N == 0 {
		return Spread{Median: Unknown(), MAD: Unknown()}
	}
	return Spread{Median: Number(scale * s.Median), MAD: Number(scale * s.MAD), N: s.N}
}
