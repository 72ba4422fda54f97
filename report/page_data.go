package report

import (
	"math"
	"slices"

	"loosedog/diagnose"
)

// Page is a measured take as the HTML page shows it: the take itself and what
// is worked out from it for people, in the words and numbers of [Text] and
// [PNG].
type Page struct {
	// Title is the take's name, without folders.
	Title string `json:"title"`
	// Headline is the take in a few words, Meaning what follows from it.
	Headline string   `json:"headline"`
	Heard    string   `json:"heard"`
	Meaning  []string `json:"meaning"`
	// Answer is what comes of the causes, in a paragraph; it may be empty.
	Answer string `json:"answer"`

	Take     *diagnose.Take `json:"take"`
	Pairs    []pagePair     `json:"pairs"`
	Ranges   *pageRanges    `json:"ranges"` // null without pairs that have a ready time
	Travel   pageTravel     `json:"travel"`
	Findings []pageFinding  `json:"findings"`

	// Sound is null where it is asked for piece by piece.
	Sound *PageSound `json:"sound"`
}

// pagePair is one pair of strokes: indexes of its strokes, rank among the
// flagged (0 when it is not flagged), measures in ms, and the stretch of sound
// that shows it in seconds.
type pagePair struct {
	First      int             `json:"first"`
	Second     int             `json:"second"`
	Number     int             `json:"number"`
	IntervalMS diagnose.Number `json:"interval_ms"`
	ReadyMS    diagnose.Number `json:"ready_ms"`
	SlackMS    diagnose.Number `json:"slack_ms"`
	Spacing    string          `json:"spacing"`
	ShortBy    diagnose.Number `json:"short_by"`
	Seen       bool            `json:"seen"`
	Word       string          `json:"word"`
	Letters    string          `json:"letters"`
	FromS      diagnose.Number `json:"from_s"`
	ToS        diagnose.Number `json:"to_s"`
}

// pageRanges are the ends of the axes on which interval stands against ready
// time, in ms; the same as the picture's.
type pageRanges struct {
	ReadyMin    float64 `json:"ready_min"`
	ReadyMax    float64 `json:"ready_max"`
	IntervalMax float64 `json:"interval_max"`
	// Gutter is the width in ms of the column, left of ReadyMin, for pairs whose
	// carriage was never heard to land; 0 without such pairs.
	Gutter  float64 `json:"gutter"`
	Outside int     `json:"outside"` // pairs that the axes leave out
}

// pageTravel is the robust line through travel against position.
type pageTravel struct {
	Line [][2]float64 `json:"line"` // position, travel in ms; empty where there is none
	Note string       `json:"note"`
}

// pageFinding is one finding in words.
type pageFinding struct {
	Title    string   `json:"title"`
	Evidence []string `json:"evidence"`
	Places   string   `json:"places"`
	Where    []int    `json:"where"`
	Check    string   `json:"check"`
	Next     string   `json:"next"`
	Caution  string   `json:"caution"`
}

// NewPage works out what the page shows of a take. Sound may be nil.
func NewPage(t *diagnose.Take, sound *PageSound) (*Page, error) {
	if t == nil {
		return nil, errNoTake
	}
	pairs := pairsOf(t)
	p := &Page{
		Title:    clean(baseName(t.Recording.Path)),
		Headline: headline(t, pairs),
		Heard:    heard(t),
		Meaning:  meaning(t, pairs),
		Answer:   clean(t.Answer.Text),
		Take:     handedOn(t),
		Pairs:    []pagePair{},
		Travel:   travelOf(t),
		Findings: []pageFinding{},
		Sound:    sound,
	}
	if !t.Recording.Usable {
		return p, nil
	}
	for _, q := range pairs {
		p.Pairs = append(p.Pairs, pagePairOf(t, q))
	}
	if v, ok := viewPairs(pairs); ok && v.ready {
		p.Ranges = &pageRanges{ReadyMin: v.xMin, ReadyMax: v.xMax, IntervalMax: v.yMax, Gutter: v.gutter, Outside: v.outside + v.edge}
	}
	for _, f := range t.Findings {
		g := pageFinding{
			Title: findingTitle(f), Evidence: []string{}, Places: places(t, f.Where),
			Where: notNil(f.Where), Check: clean(f.Check), Next: clean(f.Next), Caution: cautionOf(f),
		}
		for _, e := range f.Evidence {
			g.Evidence = append(g.Evidence, evidence(e))
		}
		p.Findings = append(p.Findings, g)
	}
	return p, nil
}

func pagePairOf(t *diagnose.Take, q pair) pagePair {
	out := pagePair{
		First: q.first, Second: q.second, Number: q.number,
		IntervalMS: diagnose.Number(q.interval), ReadyMS: diagnose.Number(q.ready), SlackMS: diagnose.Number(q.slack),
		Spacing: q.spacing, ShortBy: diagnose.Number(q.short), Seen: q.seen,
		FromS: diagnose.Unknown(), ToS: diagnose.Unknown(),
	}
	if q.spacing != "" {
		out.Word = pairWord(q)
	}
	for _, i := range []int{q.first, q.second} {
		s := t.Strokes[i]
		if s.Char != nil || s.Kind == diagnose.KindSpace {
			out.Letters = pairLetters(t, q)
		}
	}
	if from, to, ok := pairSpan(t, q); ok {
		out.FromS, out.ToS = diagnose.Number(from), diagnose.Number(to)
	}
	return out
}

// pairSpan is the stretch of sound that shows a pair; ok is false where a strike
// of it has no time in the recording.
func pairSpan(t *diagnose.Take, q pair) (from, to float64, ok bool) {
	a, b := t.Strokes[q.first].StrikeS, t.Strokes[q.second].StrikeS
	if !a.Known() || !b.Known() || a < 0 || a > longestTake || b < a {
		return 0, 0, false
	}
	from, to = spanOf(t, q)
	return from, to, to > from
}

// travelOf is the picture's robust line as points, with a note in words.
func travelOf(t *diagnose.Take) pageTravel {
	fit := diagnose.TravelProfile(t)
	out := pageTravel{Line: [][2]float64{}}
	if fit.Why != "" {
		out.Note = "No line is drawn: " + fit.Why + "."
		return out
	}
	from, to := float64(fit.From), float64(fit.To)
	for k := range 25 {
		x := from + (to-from)*float64(k)/24
		if y := float(fit.TravelAt(x)); inPicture(y) {
			out.Line = append(out.Line, [2]float64{round3(x), round3(y)})
		}
	}
	out.Note = travelNote(fit)
	return out
}

// Cautions are what stands beside whatever may lead to an adjustment.
func Cautions() []string { return slices.Clone(repairCautions) }

func round3(x float64) float64 { return math.Round(x*1000) / 1000 }

// handedOn is t as the page carries it, its path the take's name alone: a page is
// handed on, the folders of its maker are nobody's business.
func handedOn(t *diagnose.Take) *diagnose.Take {
	out := filled(t)
	out.Recording.Path = baseName(t.Recording.Path)
	return out
}
