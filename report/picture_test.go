package report

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	_ "image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/plot/vg"

	"loosedog/diagnose"
)

func picture(t *testing.T, take *diagnose.Take, clip Waveform) []byte {
	t.Helper()
	return written(t, func(w io.Writer) error { return PNG(w, take, clip) })
}

func decoded(t *testing.T, raw []byte) image.Image {
	t.Helper()
	img, format, err := image.Decode(bytes.NewReader(raw))
	if err != nil || format != "png" {
		t.Fatalf("format %q, error %v", format, err)
	}
	return img
}

// withSound is a take with the stretch of sound that its picture asks for.
func withSound(t *testing.T, take *diagnose.Take) Waveform {
	t.Helper()
	start, end, ok := PictureSpan(take)
	if !ok {
		t.Fatal("the picture asks for no sound")
	}
	return clickTrack(take, start, end)
}

// Two whole pictures stand as golden files: all panels full, and words only.
func TestPictureGolden(t *testing.T) {
	full := withFindings(passage(6, 60, 0.1))
	for name, raw := range map[string][]byte{
		"passage.png":  picture(t, full, withSound(t, full)),
		"unusable.png": picture(t, unusable(), Waveform{}),
	} {
		goldenPicture(t, name, raw)
	}
}

// goldenPicture compares a picture with a file in testdata as golden does, but for
// rounding, which differs between processors, so that edges may differ a little.
func goldenPicture(t *testing.T, name string, raw []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, raw, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (make it with go test ./report -update)", err)
	}
	if share := different(decoded(t, want), decoded(t, raw)); share > 0.0005 {
		if err := os.WriteFile(path+".got", raw, 0o644); err != nil {
			t.Error(err)
		}
		t.Errorf("%s: %.3f %% of the pixels differ; see %s.got", path, 100*share, path)
	}
}

// different is the share of pixels of which a channel differs by more than a
// tenth of its range.
func different(a, b image.Image) float64 {
	if a.Bounds() != b.Bounds() {
		return 1
	}
	n := 0
	r := a.Bounds()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			r1, g1, b1, _ := a.At(x, y).RGBA()
			r2, g2, b2, _ := b.At(x, y).RGBA()
			for _, d := range []int{int(r1) - int(r2), int(g1) - int(g2), int(b1) - int(b2)} {
				if d > 6553 || d < -6553 {
					n++
					break
				}
			}
		}
	}
	return float64(n) / float64(r.Dx()*r.Dy())
}

// The comparison itself sees a number that has changed.
func TestDifferentSees(t *testing.T) {
	take := passage(3, 40, 0.1)
	a := decoded(t, picture(t, take, Waveform{}))
	if share := different(a, decoded(t, picture(t, take, Waveform{}))); share != 0 {
		t.Errorf("the same picture twice differs in %v of its pixels", share)
	}
	take.Strokes[7].TravelMS += 6
	take.Summary.TravelMS.Median += 3
	if share := different(a, decoded(t, picture(t, take, Waveform{}))); share == 0 {
		t.Error("another travel gives the same picture")
	}
}

// 2000 x 1400 pixels at 200 dots per inch. 200 / 0.0254 = 7874 pixels a metre
// (an inch is 25.4 mm by definition); the chunk's layout and the check value's
// polynomial are those of the PNG specification, 11.3.4.3 and annex D.
func TestPictureSizeAndDensity(t *testing.T) {
	raw := picture(t, passage(2, 30, 0.1), Waveform{})
	if b := decoded(t, raw).Bounds(); b.Dx() != 2000 || b.Dy() != 1400 {
		t.Errorf("size %v", b)
	}
	var order []string
	for at := 8; at+12 <= len(raw); {
		n := int(binary.BigEndian.Uint32(raw[at:]))
		kind, body := string(raw[at+4:at+8]), raw[at+8:at+8+n]
		order = append(order, kind)
		if got, want := binary.BigEndian.Uint32(raw[at+8+n:]), crc32.ChecksumIEEE(raw[at+4:at+8+n]); got != want {
			t.Errorf("%s: check value %x, want %x", kind, got, want)
		}
		if kind == "pHYs" {
			x, y := binary.BigEndian.Uint32(body), binary.BigEndian.Uint32(body[4:])
			if x != 7874 || y != 7874 || body[8] != 1 || n != 9 {
				t.Errorf("pHYs %d x %d, unit %d, %d bytes", x, y, body[8], n)
			}
		}
		at += 12 + n
	}
	if len(order) < 4 || order[0] != "IHDR" || order[1] != "pHYs" || order[len(order)-1] != "IEND" {
		t.Errorf("chunks %v", order)
	}
}

// Saving colours changes no pixel by more than a shade at an edge.
func TestFewColours(t *testing.T) {
	take := passage(3, 40, 0.1)
	drawn := drawPicture(take, withSound(t, take))
	few := fewColours(drawn)
	worst := 0
	for y := range drawn.Bounds().Dy() {
		for x := range drawn.Bounds().Dx() {
			r1, g1, b1, _ := drawn.At(x, y).RGBA()
			r2, g2, b2, _ := few.At(x, y).RGBA()
			for _, d := range []int{int(r1>>8) - int(r2>>8), int(g1>>8) - int(g2>>8), int(b1>>8) - int(b2>>8)} {
				worst = max(worst, d, -d)
			}
		}
	}
	if worst > 16 {
		t.Errorf("a pixel changes by %d of 255", worst)
	}
	t.Logf("largest change %d of 255", worst)
}

// What is thin or absent still gives a whole picture, and its words.
func TestPictureOfLittle(t *testing.T) {
	one := passage(1, 1, 0)
	odd := passage(2, 30, 0.2)
	for i := range odd.Strokes {
		odd.Strokes[i].TravelMS = num(math.Pow(10, float64(i)))
		odd.Strokes[i].IntervalMS = num(math.Pow(-10, float64(i)))
		odd.Strokes[i].ReadyMS = num(math.Pow(10, float64(300-i)))
	}
	same := passage(2, 30, 0)
	for i := range same.Strokes {
		same.Strokes[i].TravelMS, same.Strokes[i].ReadyMS, same.Strokes[i].IntervalMS = 40, 90, 200
	}
	badClip := withSound(t, passage(2, 30, 0.2))
	for i := range badClip.Samples {
		if i%7 == 0 {
			badClip.Samples[i] = math.NaN()
		}
		if i%11 == 0 {
			badClip.Samples[i] = math.Inf(1)
		}
	}
	for name, c := range map[string]struct {
		take *diagnose.Take
		clip Waveform
	}{
		"empty":         {&diagnose.Take{}, Waveform{}},
		"no strokes":    {blankTake("silence.wav"), Waveform{}},
		"one stroke":    {one, Waveform{}},
		"all null":      {deaf(passage(3, 40, 0.2), true), Waveform{}},
		"no travel":     {deaf(passage(3, 40, 0.2), false), Waveform{}},
		"odd values":    {odd, Waveform{}},
		"no spread":     {same, Waveform{}},
		"bad sound":     {passage(2, 30, 0.2), badClip},
		"other stretch": {passage(2, 30, 0.2), Waveform{Start: 900, SampleRate: 8000, Samples: make([]float64, 80)}},
		"no rate":       {passage(2, 30, 0.2), Waveform{Samples: make([]float64, 80)}},
		"silent sound":  {passage(2, 30, 0.2), Waveform{SampleRate: 48000, Samples: make([]float64, 48000*20)}},
	} {
		if b := decoded(t, picture(t, c.take, c.clip)).Bounds(); b.Dx() != 2000 || b.Dy() != 1400 {
			t.Errorf("%s: size %v", name, b)
		}
	}
}

// A long take draws no more points than a short one can.
func TestPictureThins(t *testing.T) {
	take := passage(320, 63, 0.05)
	if len(take.Strokes) < 20000 {
		t.Fatalf("%d strokes", len(take.Strokes))
	}
	v, ok := viewPairs(pairsOf(take))
	if !ok || v.every < 2 || (len(v.calm)+v.every-1)/v.every > mostPoints {
		t.Errorf("1 of %d of %d is drawn", v.every, len(v.calm))
	}
	if got, want := v.note(), "1 of "; !bytes.Contains([]byte(got), []byte(want)) {
		t.Errorf("the note %q does not say how many are drawn", got)
	}
	decoded(t, picture(t, take, Waveform{}))
}

// The axes show what matters and say what they leave out.
func TestViewPairs(t *testing.T) {
	pairs := pairsOf(passage(6, 60, 0.1))
	v, ok := viewPairs(pairs)
	if !ok {
		t.Fatal("no view")
	}
	if got := len(v.calm) + len(v.flagged) + len(v.bare) + v.outside; got != len(pairs) {
		t.Errorf("%d of %d pairs are accounted for", got, len(pairs))
	}
	for _, p := range v.flagged {
		if p.number <= defaultPairs && (p.ready < v.xMin || p.ready > v.xMax || p.interval > v.yMax) {
			t.Errorf("pair %d (ready %.1f, interval %.1f) is outside of %.1f to %.1f and %.1f", p.number, p.ready, p.interval, v.xMin, v.xMax, v.yMax)
		}
	}
	// One pause of a minute must not stretch the axis, and must be counted.
	plain, _ := viewPairs(pairsOf(passage(6, 60, 0.1)))
	long := passage(6, 60, 0.1)
	long.Strokes[5].IntervalMS, long.Strokes[5].SlackMS = 60000, 59900
	with, _ := viewPairs(pairsOf(long))
	if with.yMax > 1.1*plain.yMax || with.outside < 1 {
		t.Errorf("a pause takes the axis from %.0f to %.0f ms, %d outside", plain.yMax, with.yMax, with.outside)
	}
}

func TestPictureSpan(t *testing.T) {
	take := passage(4, 40, 0.15)
	start, end, ok := PictureSpan(take)
	worst, _ := diagnose.Worst(take)
	a, b := take.Strokes[worst.First], take.Strokes[worst.Second]
	if !ok || start > float64(a.TripS) || end < float64(b.StrikeS) || b.LandingS.Known() && end < float64(b.LandingS) {
		t.Errorf("%v to %v, %v; the worst pair is struck at %v and %v", start, end, ok, a.StrikeS, b.StrikeS)
	}
	// Without a flagged pair it is the one with the least slack.
	calm := passage(4, 40, 0)
	calm.Strokes[50].IntervalMS, calm.Strokes[50].SlackMS = 100, 1
	if len(diagnose.Flagged(calm)) > 0 {
		t.Fatal("the calm take has flagged pairs")
	}
	start, end, ok = PictureSpan(calm)
	if s := float64(calm.Strokes[50].StrikeS); !ok || s < start || s > end {
		t.Errorf("%v to %v, %v; the tightest pair is struck at %v", start, end, ok, s)
	}
	for name, take := range map[string]*diagnose.Take{
		"no strokes": blankTake("x.wav"), "one stroke": passage(1, 1, 0), "unusable": unusable(),
	} {
		if _, _, ok := PictureSpan(take); ok {
			t.Errorf("%s: asks for sound", name)
		}
	}
	// A key held for a minute does not ask for a minute of sound.
	held := passage(1, 4, 0)
	for i := range held.Strokes {
		held.Strokes[i].LandingS += 60
	}
	if start, end, ok := PictureSpan(held); !ok || end-start > longestPic {
		t.Errorf("a held key asks for %v to %v", start, end)
	}
}

func TestDrawable(t *testing.T) {
	for _, c := range []struct {
		in, want string
		lost     bool
	}{
		{"shelf 9, grey.wav", "shelf 9, grey.wav", false},
		{"Größe Ελλάδα ž", "Größe Ελλάδα ž", false},
		{"e\u0301te\u0301.wav", "été.wav", false}, // as some systems store names
		{"\uff21\uff22 2.wav", "AB 2.wav", true},  // full width forms: NFKD gives plain letters
		{"手機錄音 3.wav", "? 3.wav", true},
		{"", "", false},
	} {
		got, lost := drawable(c.in)
		if got != c.want || lost != c.lost {
			t.Errorf("drawable(%q) = %q, %v, want %q, %v", c.in, got, lost, c.want, c.lost)
		}
	}
	for in, want := range map[string]string{"/a/b.wav": "b.wav", `C:\x\b.wav`: "b.wav", "b.wav": "b.wav", "/": "", "": ""} {
		if got := baseName(in); got != want {
			t.Errorf("baseName(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestRoundTicks(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		n      int
		want   []string
	}{
		{0, 290, 5, []string{"0", "100", "200"}},
		{-1.3, 65, 5, []string{"0", "20", "40", "60"}},
		{30.2, 31.1, 4, []string{"30.5", "31.0"}},
		{-0.02, 0.02, 4, []string{"-0.02", "-0.01", "0.00", "0.01", "0.02"}},
	} {
		var got []string
		for _, k := range roundTicks(c.lo, c.hi, c.n) {
			got = append(got, k.Label)
		}
		if len(got) != len(c.want) {
			t.Errorf("%v to %v: %q, want %q", c.lo, c.hi, got, c.want)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("%v to %v: %q, want %q", c.lo, c.hi, got, c.want)
			}
		}
	}
}

func TestEnvelope(t *testing.T) {
	low, high := envelope([]float64{1, -2, 3, math.NaN(), math.Inf(1), 0.5, math.NaN(), math.NaN()}, 4)
	for i, want := range [][2]float64{{-2, 1}, {3, 3}, {0.5, 0.5}} {
		if low[i] != want[0] || high[i] != want[1] {
			t.Errorf("column %d: %v to %v, want %v", i, low[i], high[i], want)
		}
	}
	if !math.IsNaN(low[3]) || !math.IsNaN(high[3]) {
		t.Errorf("a column without numbers: %v to %v", low[3], high[3])
	}
}

// A click 30 dB under the strike stands at 10^(-30/40) = 17.8 % of its height.
func TestSquareRoot(t *testing.T) {
	quiet := math.Pow(10, -30.0/20)
	if got := squareRoot(-quiet); math.Abs(got+0.1778) > 0.0001 {
		t.Errorf("%v", got)
	}
	if squareRoot(1) != 1 || squareRoot(0) != 0 || squareRoot(5) != 1 {
		t.Error("the ends are wrong")
	}
}

func TestSpread(t *testing.T) {
	for _, c := range []struct {
		name            string
		middles, widths []vg.Length
		lo, hi          vg.Length
		want            []vg.Length
	}{
		{"apart", []vg.Length{20, 60}, []vg.Length{20, 20}, 0, 100, []vg.Length{20, 60}},
		{"meeting", []vg.Length{50, 52}, []vg.Length{20, 20}, 0, 100, []vg.Length{41, 61}},
		{"at the left", []vg.Length{1, 3}, []vg.Length{20, 10}, 0, 100, []vg.Length{10, 25}},
		{"at the right", []vg.Length{98, 99}, []vg.Length{20, 10}, 0, 100, []vg.Length{80, 95}},
		{"none", nil, nil, 0, 100, nil},
	} {
		got := spread(c.middles, c.widths, c.lo, c.hi)
		if len(got) != len(c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
			continue
		}
		for i := range got {
			if math.Abs(float64(got[i]-c.want[i])) > 1e-9 {
				t.Errorf("%s: %v, want %v", c.name, got, c.want)
			}
		}
	}
}
