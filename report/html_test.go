package report

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"errors"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"

	"loosedog/diagnose"
)

// tone is a sound source: a sine at full scale, n samples long.
type tone struct {
	rate  float64
	n, at int
	fail  error
}

func (s *tone) SampleRate() float64 { return s.rate }

func (s *tone) Read(dst []float64) (int, error) {
	if s.at >= s.n {
		if s.fail != nil {
			return 0, s.fail
		}
		return 0, io.EOF
	}
	n := min(len(dst), s.n-s.at)
	for i := range n {
		dst[i] = math.Sin(2 * math.Pi * 440 * float64(s.at+i) / s.rate)
	}
	s.at += n
	return n, nil
}

func pageSound(t *testing.T, take *diagnose.Take) *PageSound {
	t.Helper()
	src := &tone{rate: 48000, n: int(48000 * (take.Recording.DurationS + 1))}
	sound, err := ReadPageSound(src, take)
	if err != nil {
		t.Fatal(err)
	}
	return sound
}

func TestHTMLIsWhole(t *testing.T) {
	take := withFindings(passage(4, 40, 0.15))
	raw := string(written(t, func(w io.Writer) error { return HTML(w, take, pageSound(t, take)) }))
	if len(raw) > 3<<20 {
		t.Errorf("%d bytes, more than 3 MB", len(raw))
	}
	for _, outside := range []string{"http://", "https://", "//cdn", "src=", "@import", "url("} {
		// The one address that is a name and is never asked for.
		if strings.Contains(strings.ReplaceAll(raw, "http://www.w3.org/2000/svg", ""), outside) {
			t.Errorf("the page holds %q", outside)
		}
	}
	policy := regexp.MustCompile(`Content-Security-Policy" content="([^"]*)"`).FindStringSubmatch(raw)
	if policy == nil || !strings.Contains(policy[1], "default-src 'none'") || strings.Contains(policy[1], "unsafe") {
		t.Errorf("policy: %q", policy)
	}
	if strings.Contains(raw, "{{") && regexp.MustCompile(`\{\{[a-z]+\}\}`).MatchString(raw) {
		t.Error("a blank was not filled in")
	}
}

// A name or a letter from outside never becomes markup.
func TestHTMLHostile(t *testing.T) {
	take := smallTake()
	take.Recording.Path = "a</script><script>alert(1)</script>\x1b[31m{{data}}<img src=x onerror=alert(2)>.wav"
	evil := "</script><b>"
	take.Strokes[0].Char = &evil
	raw := written(t, func(w io.Writer) error { return HTML(w, take, nil) })
	if n := bytes.Count(raw, []byte("<script")); n != 2 {
		t.Errorf("%d scripts, want the data and the page's own", n)
	}
	for _, bad := range []string{"<img", "<b>", "\x1b"} {
		if bytes.Contains(raw, []byte(bad)) {
			t.Errorf("the page holds %q", bad)
		}
	}
	note := written(t, func(w io.Writer) error { return Markdown(w, take) })
	if regexp.MustCompile(`(^|[^\\])<`).Match(note) || bytes.Contains(note, []byte("\x1b")) {
		t.Errorf("the note holds markup: %s", note)
	}
}

func TestPageHoldsWhatTextSays(t *testing.T) {
	take := withFindings(passage(4, 40, 0.15))
	p, err := NewPage(take, nil)
	if err != nil {
		t.Fatal(err)
	}
	text := string(written(t, func(w io.Writer) error { return Text(w, take, TextOptions{Pairs: 1000}) }))
	flat := strings.Join(strings.Fields(text), " ")
	for _, m := range p.Meaning {
		if !strings.Contains(flat, m) {
			t.Errorf("the text does not say %q", m)
		}
	}
	flagged := 0
	for _, q := range p.Pairs {
		if q.Number > 0 {
			flagged++
		}
		if !q.FromS.Known() || q.ToS <= q.FromS {
			t.Errorf("pair %d has no stretch of sound", q.First)
		}
	}
	if flagged != len(diagnose.Flagged(take)) {
		t.Errorf("%d flagged, want %d", flagged, len(diagnose.Flagged(take)))
	}
	if len(p.Findings) != len(take.Findings) || p.Findings[0].Caution == "" {
		t.Error("findings without cautions")
	}
	if _, err := json.Marshal(p); err != nil {
		t.Error(err)
	}
}

func TestPageOfEveryTake(t *testing.T) {
	one := blankTake("one.wav")
	one.Strokes = []diagnose.Stroke{blankStroke(0, 0, 0, 1)}
	for name, take := range map[string]*diagnose.Take{
		"small": smallTake(), "deaf": deaf(passage(2, 40, 0.15), true), "unusable": unusable(),
		"nothing": blankTake("silence.wav"), "one": one, "zero": {},
	} {
		var b bytes.Buffer
		if err := HTML(&b, take, nil); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if err := Markdown(&b, take); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		p, err := NewPage(take, nil)
		if err != nil || p.Headline == "" {
			t.Errorf("%s: %q, %v", name, p.Headline, err)
		}
		if !take.Recording.Usable && len(p.Pairs)+len(p.Findings) > 0 {
			t.Errorf("%s: figures of a take that cannot be measured", name)
		}
	}
	if _, err := NewPage(nil, nil); err == nil {
		t.Error("a page of nothing")
	}
}

func TestPageSound(t *testing.T) {
	take := passage(4, 40, 0.15)
	sound := pageSound(t, take)
	if len(sound.Clips) != len(diagnose.Flagged(take)) || sound.LeftOut != 0 {
		t.Errorf("%d clips, %d left out of %d", len(sound.Clips), sound.LeftOut, len(diagnose.Flagged(take)))
	}
	for _, c := range sound.Clips {
		b, err := base64.StdEncoding.DecodeString(c.PCM)
		if err != nil || len(b) < 2*48*100 {
			t.Errorf("clip of pair %d: %d bytes, %v", c.Pair, len(b), err)
		}
	}
	peaks, err := base64.StdEncoding.DecodeString(sound.Peaks.Values)
	if want := take.Recording.DurationS + 1; err != nil || math.Abs(float64(len(peaks))/sound.Peaks.PerS-want) > 0.1 {
		t.Errorf("an outline of %d at %g a second, want %g s, %v", len(peaks), sound.Peaks.PerS, want, err)
	}
	// Hours of typing keep within the bounds.
	long := passage(400, 60, 0.3)
	all, _ := clipSpans(long, 192000)
	var n int64
	for _, s := range all {
		n += (s.last - s.first) * 2 * 4 / 3
	}
	if n > clipBudget || len(all) == 0 {
		t.Errorf("%d bytes of clips, %d are the most", n, clipBudget)
	}
	clip, err := ReadPageClip(&tone{rate: 8000, n: 80000}, 3, 1, 1.5)
	if err != nil || clip.StartS != 1 || clip.Pair != 3 {
		t.Errorf("%+v, %v", clip, err)
	}
	if _, err := ReadPageClip(&tone{rate: 8000, n: 80000}, 3, 2, 1); err == nil {
		t.Error("a clip that ends before it starts")
	}
	broken := errors.New("broken")
	if _, err := ReadPageSound(&tone{rate: 8000, n: 100, fail: broken}, take); !errors.Is(err, broken) {
		t.Errorf("got %v", err)
	}
}

// Every output says that somebody put events right by hand.
func TestEveryOutputSaysByHand(t *testing.T) {
	take := smallTake()
	take.Corrections = []diagnose.Correction{{Event: diagnose.EventLanding, StrokeS: 1, ToS: 1.09}}
	take.Strokes[0].Corrected = []string{diagnose.EventLanding}
	for name, c := range map[string]struct {
		write func(io.Writer) error
		want  string
	}{
		"text":   {func(w io.Writer) error { return Text(w, take, TextOptions{}) }, "1 event corrected by hand"},
		"note":   {func(w io.Writer) error { return Markdown(w, take) }, "1 event corrected by hand"},
		"json":   {func(w io.Writer) error { return JSON(w, take) }, `"corrected": [`},
		"csv":    {func(w io.Writer) error { return CSV(w, take) }, "landing"},
		"labels": {func(w io.Writer) error { return Labels(w, take) }, "landing 0 (by hand)"},
		"page":   {func(w io.Writer) error { return HTML(w, take, nil) }, `"corrected":["landing"]`},
	} {
		if got := written(t, c.write); !bytes.Contains(got, []byte(c.want)) {
			t.Errorf("%s does not hold %q", name, c.want)
		}
	}
	if notes := headNotes(take, false); len(notes) == 0 || !strings.Contains(notes[0], "by hand") {
		t.Errorf("the picture's notes: %q", notes)
	}
}
