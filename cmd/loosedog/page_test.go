package main

import (
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"math"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"loosedog/cmd/loosedog/serve"
	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
)

// served is the page over a folder of its own.
type served struct {
	folder, url string
	// hold makes the next measurement wait until it is cancelled.
	hold atomic.Bool
}

func servedPage(t *testing.T) *served {
	t.Helper()
	p := &served{folder: t.TempDir()}
	measure := func(ctx context.Context, path string, ask serve.Ask, progress func(string, float64)) (*diagnose.Take, error) {
		if p.hold.Swap(false) {
			progress("listening", 0.3)
			<-ctx.Done()
			return nil, ctx.Err()
		}
		return measureForPage(ctx, path, ask, progress)
	}
	s, err := serve.New(serve.Options{Folder: p.folder, Measure: measure, Sheet: sheetForPage()})
	if err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p.url = "http://" + ln.Addr().String() + "/"
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, ln) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
		s.Close()
		list, err := os.ReadDir(p.folder)
		if err != nil {
			t.Error(err)
		}
		for _, f := range list {
			if strings.HasSuffix(f.Name(), ".part") {
				t.Errorf("left behind: %s", f.Name())
			}
		}
	})
	return p
}

// files are the names in the folder.
func (p *served) files(t *testing.T) []string {
	t.Helper()
	list, err := os.ReadDir(p.folder)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range list {
		names = append(names, f.Name())
	}
	return names
}

// tooLoud is the recording with a moment at full scale in its first second, as a
// file: what the microphone hears.
func tooLoud(t *testing.T, dir string, raw []byte) string {
	t.Helper()
	raw = slices.Clone(raw)
	const header, rate = 44, 48000
	for i := rate / 2; i < rate/2+rate/10; i++ {
		v := int16(32767 * (1 - 2*(i/40%2)))
		raw[header+2*i], raw[header+2*i+1] = byte(v), byte(v>>8)
	}
	path := filepath.Join(dir, "microphone.wav")
	if err := os.WriteFile(path, raw, 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestPage goes through the page as an owner would, in a real browser.
func TestPage(t *testing.T) {
	chromium(t)
	raw, err := demoTake()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	take := filepath.Join(dir, "shelf 7.wav")
	if err := os.WriteFile(take, raw, 0o666); err != nil {
		t.Fatal(err)
	}
	p := servedPage(t)
	b := openTab(t, tooLoud(t, dir, raw))
	step := func(name string, f func(t *testing.T, b *tab)) {
		t.Run(name, func(t *testing.T) { f(t, &tab{t, b.ctx, b.downloads}) })
		if t.Failed() {
			t.FailNow()
		}
	}

	step("drop a WAV", func(t *testing.T, b *tab) {
		b.do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(p.url))
		b.until("the first page", `document.querySelector(".drop")`)
		b.accessible("first page", "light", "dark")
		b.drop(".drop", take)
		b.until("the take", `location.hash === "#take=shelf%207.wav" && document.querySelector(".verdict .headline")`)
		if got := p.files(t); !slices.Equal(got, []string{"shelf 7.json", "shelf 7.wav"}) {
			t.Errorf("the folder holds %q", got)
		}
		if kept, _ := os.ReadFile(filepath.Join(p.folder, "shelf 7.wav")); !bytes.Equal(kept, raw) {
			t.Error("the recording was changed on its way")
		}
		b.noErrors("drop")
	})

	var m diagnose.Take
	step("look", func(t *testing.T, b *tab) {
		readJSON(t, filepath.Join(p.folder, "shelf 7.json"), &m)
		if m.Summary.Strokes < 100 || len(diagnose.Flagged(&m)) == 0 {
			t.Fatalf("a demo without flagged pairs: %+v", m.Summary)
		}
		if head := see[string](b, `document.querySelector(".headline").textContent`); !strings.Contains(head, fmt.Sprintf("%d strokes", m.Summary.Strokes)) {
			t.Errorf("the headline is %q", head)
		}
		if n := see[int](b, `document.querySelectorAll(".strip svg").length`); n != len(m.Lines) {
			t.Errorf("%d rows, %d lines", n, len(m.Lines))
		}
		if n := see[int](b, `document.querySelectorAll(".strip .wedge, .strip .cross").length`); n != len(diagnose.Flagged(&m)) {
			t.Errorf("%d marks in the strip, %d flagged pairs", n, len(diagnose.Flagged(&m)))
		}
		if n := see[int](b, `document.querySelectorAll(".findings > ol > li").length`); n != len(m.Findings) {
			t.Errorf("%d findings shown, %d found", n, len(m.Findings))
		}
		if len(m.Findings) > 0 && !see[bool](b, `[...document.querySelectorAll(".findings > ol > li")].every((f) => !f.textContent.includes("Check ") || f.querySelector(".caution"))`) {
			t.Error("a check stands without its caution")
		}
		typed := 0
		for _, s := range m.Strokes {
			if s.Kind == diagnose.KindType {
				typed++
			}
		}
		if n := see[int](b, `document.querySelectorAll(".paper .typed").length`); n != typed {
			t.Errorf("%d letters on the page, %d typed", n, typed)
		}
		b.until("the pair's sound", `(document.querySelector(".pair .sound-line") || {getAttribute: () => ""}).getAttribute("d").length > 500`)
		if n := see[int](b, `document.querySelectorAll(".pair .event-name").length`); n < 2 {
			t.Errorf("%d named events", n)
		}
		b.noErrors("look")
	})

	step("choose", func(t *testing.T, b *tab) {
		now := `document.querySelector(".strip").getAttribute("aria-valuenow")`
		was := see[string](b, now)
		b.hover(".chart .wedge, .chart .ring")
		b.until("the pair under the pointer", now+" !== "+fmt.Sprintf("%q", was))
		if !see[bool](b, `new Set([...document.querySelectorAll("[role=slider]")].map((e) => e.getAttribute("aria-valuenow"))).size === 1`) {
			t.Error("the parts of the page show different pairs")
		}
		b.click("tbody tr:last-child button")
		b.until("the pair of the table", `document.querySelector("tr.chosen button").textContent === document.querySelector("tbody tr:last-child button").textContent`)
		see[bool](b, `(document.querySelector(".strip").focus(), true)`)
		at := see[int](b, "Number("+now+")")
		for key, want := range map[string]int{kb.Home: 1, kb.End: len(diagnose.Pairs(&m))} {
			b.do(chromedp.KeyEvent(key))
			if got := see[int](b, "Number("+now+")"); got != want {
				t.Errorf("key %q: pair %d of %d (from %d)", key, got, want, at)
			}
		}
		b.do(chromedp.KeyEvent(kb.Home), chromedp.KeyEvent(kb.ArrowRight))
		if got := see[int](b, "Number("+now+")"); got != 2 {
			t.Errorf("one to the right of the first is %d", got)
		}
		b.do(chromedp.KeyEvent(kb.ArrowDown))
		if !see[bool](b, `/crowded|piled/.test(document.querySelector(".strip").getAttribute("aria-valuetext"))`) {
			t.Error("the key for flagged pairs goes elsewhere")
		}
		b.noErrors("choose")
	})

	step("play", func(t *testing.T, b *tab) {
		b.click("tbody tr:first-child button")
		b.until("its sound", `!document.querySelector(".key").disabled && document.querySelector(".pair .sound-line")`)
		for i := range 4 {
			b.click(fmt.Sprintf(".keys .key:nth-child(%d)", i+1))
			b.until("the sound to start", fmt.Sprintf("watched.rates.length > %d", i))
		}
		got := see[[][]float64](b, "watched.rates")
		for i, want := range []float64{1, 0.5, 0.25, 0.125} {
			if got[i][0] != want || got[i][1] < 0.1 || got[i][2] != float64(m.Recording.SampleRateHz) {
				t.Errorf("started with %v; want rate %g, a clip, %d Hz", got[i], want, m.Recording.SampleRateHz)
			}
		}
		b.press("stop")
		see[bool](b, `(document.querySelector(".strip").focus(), true)`)
		b.do(chromedp.KeyEvent(kb.Enter))
		b.until("the key to play", "watched.rates.length === 5")
		b.noErrors("play")
	})

	step("correct", func(t *testing.T, b *tab) {
		// A crowded pair has a landing of its first stroke.
		i := slices.IndexFunc(diagnose.Flagged(&m), func(q diagnose.Pair) bool {
			return q.Spacing == diagnose.SpacingCrowded && m.Strokes[q.First].LandingS.Known()
		})
		if i < 0 {
			t.Fatal("the demo has no crowded pair")
		}
		bad := diagnose.Flagged(&m)[i]
		b.click(fmt.Sprintf("tbody tr:nth-child(%d) button", i+1))
		b.press("Correct by hand")
		id := fmt.Sprintf("event-%d-landing", bad.First)
		b.until("the landing's time", fmt.Sprintf("document.getElementById(%q)", id))
		// The landing was in fact right before the second strike.
		ms := 1000*float64(m.Strokes[bad.Second].StrikeS-m.Strokes[bad.First].StrikeS) - 2
		see[bool](b, fmt.Sprintf(`(() => { const e = document.getElementById(%q); e.value = "%.1f"; e.dispatchEvent(new Event("input")); return true; })()`, id, ms))
		b.accessible("correcting", "light")
		// And one more is dragged.
		x, y := b.spot(".pair .grip")
		b.do(chromedp.DragAndDropXY(x, y, x+6, y, 3))
		b.until("two changes", `document.querySelector(".correct [role=status]").textContent.startsWith("2 changes")`)
		b.press("Measure again with these")
		b.until("the mark", `document.querySelector(".by-hand-note")`)
		var again diagnose.Take
		readJSON(t, filepath.Join(p.folder, "shelf 7.json"), &again)
		if len(again.Corrections) != 2 {
			t.Fatalf("kept %d corrections", len(again.Corrections))
		}
		k := slices.IndexFunc(again.Strokes, func(s diagnose.Stroke) bool { return slices.Contains(s.Corrected, "landing") })
		if k < 0 || math.Abs(1000*float64(again.Strokes[k].LandingS-m.Strokes[bad.First].StrikeS)-ms) > 0.2 {
			t.Fatalf("the corrected landing was not measured (stroke %d): %+v", k, again.Corrections)
		}
		if sp := again.Strokes[k+1].Spacing; sp == nil || *sp != diagnose.SpacingClear {
			t.Errorf("the pair is still %v", sp)
		}
		b.until("the same pair again", fmt.Sprintf(`document.querySelector(".strip").getAttribute("aria-valuetext").includes("line %d, position %d,")`,
			again.Strokes[k+1].Line+1, again.Strokes[k+1].Position))
		b.accessible("take", "light", "dark")
		b.noErrors("correct")
	})

	step("take away", func(t *testing.T, b *tab) {
		for kind, want := range map[string][]string{
			"The whole page": {"shelf 7.html", "<!doctype html>", `"corrected":["`},
			"The picture":    {"shelf 7.png", "\x89PNG", "IEND"},
			"The note":       {"shelf 7.md", "# shelf 7.wav", "corrected by hand"},
			"The strokes":    {"shelf 7.csv", "index,kind", "landing"},
			"Everything":     {"shelf 7.json", "{", `"corrections"`},
			"The label":      {"shelf 7.labels.txt", "", "(by hand)"},
		} {
			b.press(kind)
			got := b.downloaded(want[0])
			if !bytes.HasPrefix(got, []byte(want[1])) || !bytes.Contains(got, []byte(want[2])) {
				t.Errorf("%s: %d bytes, starts with %.30q", want[0], len(got), got)
			}
			if len(got) > 3<<20 {
				t.Errorf("%s: %d bytes, more than 3 MB", want[0], len(got))
			}
		}
	})

	step("open the saved page without a network", func(t *testing.T, b *tab) {
		asked := make(chan string, 100)
		ctx, stop := context.WithCancel(b.ctx)
		defer stop()
		go func() {
			defer close(asked)
			for ev, err := range chromedp.Events(ctx, network.RequestWillBeSent) {
				if err != nil {
					return
				}
				asked <- ev.Request.URL
			}
		}()
		offline := func(off bool) {
			b.do(func(ctx context.Context, tg *chromedp.Target) (chromedp.Void, error) {
				_, err := cdp.Call(ctx, tg, network.Enable, network.EnableParams{})
				if err != nil {
					return chromedp.Void{}, err
				}
				rules := []*network.Conditions{{Offline: off, DownloadThroughput: -1, UploadThroughput: -1}}
				_, err = cdp.Call(ctx, tg, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{MatchedNetworkConditions: rules})
				return chromedp.Void{}, err
			})
		}
		offline(true)
		file := "file://" + filepath.ToSlash(filepath.Join(b.downloads, "shelf 7.html"))
		b.do(chromedp.Navigate(strings.ReplaceAll(file, " ", "%20")))
		b.until("the take", `document.querySelector(".verdict .headline")`)
		b.click("tbody tr:nth-child(2) button")
		b.until("its sound", `!document.querySelector(".key").disabled && document.querySelector(".pair .sound-line")`)
		b.click(".keys .key:nth-child(3)")
		b.until("it to play", "watched.rates.length === 1 && watched.rates[0][0] === 0.25")
		b.accessible("saved page", "light")
		b.noErrors("saved page")
		offline(false)
		stop()
		for url := range asked {
			if !strings.HasPrefix(url, "file://") && !strings.HasPrefix(url, "data:") {
				t.Errorf("the saved page asked for %s", url)
			}
		}
		b.do(chromedp.EmulateViewport(1280, 900))
	})

	step("an m4a at its own rate", func(t *testing.T, b *tab) {
		if _, err := exec.LookPath("ffmpeg"); err != nil {
			if inCI() {
				t.Fatal("ffmpeg is not installed")
			}
			t.Skip("ffmpeg is not installed")
		}
		m4a := filepath.Join(dir, "from a phone.m4a")
		if out, err := exec.Command("ffmpeg", "-v", "error", "-y", "-i", take, "-ar", "44100", "-b:a", "128k", m4a).CombinedOutput(); err != nil {
			t.Fatalf("ffmpeg: %v %s", err, out)
		}
		b.do(chromedp.Navigate(p.url))
		b.press("What you know")
		typed := strings.Join(strings.Split(mechanism.Demo().Text, "\n")[:3], "\n")
		see[bool](b, fmt.Sprintf(`(document.getElementById("new-text").value = %q, true)`, typed))
		b.do(chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{m4a}))
		b.until("the take", `location.hash.startsWith("#take=from") && document.querySelector(".verdict .headline")`)
		var got diagnose.Take
		readJSON(t, filepath.Join(p.folder, "from a phone.json"), &got)
		if got.Recording.SampleRateHz != 44100 {
			t.Errorf("measured at %d Hz, recorded at 44100", got.Recording.SampleRateHz)
		}
		if math.Abs(float64(got.Summary.Strokes-m.Summary.Strokes)) > 0.1*float64(m.Summary.Strokes) {
			t.Errorf("%d strokes, %d in the WAV", got.Summary.Strokes, m.Summary.Strokes)
		}
		if got.Asked == nil || got.Asked.Text != typed || got.Passage == nil {
			t.Errorf("the text was not passed on: %+v", got.Asked)
		}
		if letters := see[int](b, `[...document.querySelectorAll(".paper text.typed")].filter((e) => /^[a-z]$/.test(e.textContent)).length`); got.Passage.Fits && letters < 100 {
			t.Errorf("%d letters on the page", letters)
		}
		b.noErrors("m4a")
	})

	step("rates of other formats", func(t *testing.T, b *tab) {
		if _, err := exec.LookPath("ffmpeg"); err != nil {
			t.Skip("ffmpeg is not installed")
		}
		for _, c := range []struct {
			ending, codec string
			rate          int
		}{
			{"wav", "pcm_s24le", 96000}, {"m4a", "alac", 44100}, {"mp3", "libmp3lame", 22050}, {"mp3", "libmp3lame", 48000}, {"flac", "flac", 88200},
			{"ogg", "libvorbis", 32000}, {"opus", "libopus", 48000}, {"aac", "aac", 24000}, {"mp4", "aac", 16000},
		} {
			out, err := exec.Command("ffmpeg", "-v", "error", "-t", "0.3", "-i", take, "-c:a", c.codec, "-ar", fmt.Sprint(c.rate),
				"-f", map[string]string{"m4a": "ipod", "aac": "adts"}[c.ending]+map[bool]string{true: c.ending}[c.ending != "m4a" && c.ending != "aac"], "-movflags", "frag_keyframe", "pipe:1").Output()
			if err != nil {
				t.Errorf("ffmpeg %s: %v", c.ending, err)
				continue
			}
			got := see[float64](b, fmt.Sprintf(`loosedog.rate.rateOf(Uint8Array.from(atob(%q), (c) => c.charCodeAt(0)).buffer) || 0`, base64.StdEncoding.EncodeToString(out)))
			if got != float64(c.rate) {
				t.Errorf("%s at %d Hz was taken for %g", c.ending, c.rate, got)
			}
		}
		for _, junk := range []string{"", "short", strings.Repeat("\x00", 100), "RIFF" + strings.Repeat("x", 200), "    ftyp" + strings.Repeat("\xff", 200), "\xff\xfb" + strings.Repeat("\xff", 100)} {
			see[bool](b, fmt.Sprintf(`(loosedog.rate.rateOf(Uint8Array.from(atob(%q), (c) => c.charCodeAt(0)).buffer), true)`, base64.StdEncoding.EncodeToString([]byte(junk))))
		}
	})

	step("a name that is taken", func(t *testing.T, b *tab) {
		b.do(chromedp.Navigate(p.url))
		b.drop(".drop", take)
		b.press("Keep both")
		b.until("the take", `location.hash === "#take=shelf%207%202.wav" && document.querySelector(".verdict .headline")`)
		if !slices.Contains(p.files(t), "shelf 7 2.wav") {
			t.Errorf("the folder holds %q", p.files(t))
		}
		b.noErrors("taken")
	})

	step("compare", func(t *testing.T, b *tab) {
		b.do(chromedp.Navigate(p.url))
		b.click(`input[name="before"][value="shelf 7.wav"]`)
		b.click(`input[name="after"][value="shelf 7 2.wav"]`)
		see[bool](b, `(document.getElementById("done").value = "nothing <b>at all</b>", true)`)
		b.press("Compare")
		b.until("the verdict", `/^(Better|Worse|No difference shown|Cannot tell)[.]$/.test((document.querySelector(".headline") || {}).textContent)`)
		if head := see[string](b, `document.querySelector(".headline").textContent`); head == "Better." || head == "Worse." {
			t.Errorf("the same machine is %q", head)
		}
		if !see[bool](b, `document.querySelector(".caution") && document.body.textContent.includes("nothing <b>at all</b>")`) {
			t.Error("cautions, or what was done, are missing")
		}
		b.press("The repair note")
		if note := b.downloaded("shelf 7 against shelf 7 2.md"); !bytes.Contains(note, []byte("shelf 7")) {
			t.Errorf("the note is %.80q", note)
		}
		b.accessible("comparison", "light")
		b.pictures("comparison", "light")
		b.noErrors("compare")
	})

	step("cancel", func(t *testing.T, b *tab) {
		b.do(chromedp.Navigate(p.url + "#take=shelf%207.wav"))
		p.hold.Store(true)
		before := p.files(t)
		b.press("Measure again")
		b.until("the work", `document.querySelector("#work progress").value > 0`)
		b.accessible("working", "light")
		b.press("Cancel")
		b.until("it to end", `document.getElementById("work").hidden`)
		if got := p.files(t); !slices.Equal(got, before) {
			t.Errorf("%q before, %q after", before, got)
		}
		b.noErrors("cancel")
	})

	step("record", func(t *testing.T, b *tab) {
		b.do(chromedp.Navigate(p.url))
		b.press("Record here")
		b.until("the sheet", `(document.querySelector(".passage") || { textContent: "" }).textContent.length > 200`)
		b.accessible("recording", "light")
		b.pictures("record", "light")
		see[bool](b, `(document.getElementById("record-name").value = "recorded here", true)`)
		b.press("Record")
		b.until("the level to move", `Number(document.querySelector("[role=meter]").getAttribute("aria-valuenow")) > -40`)
		b.until("the clipping light", `(document.querySelector(".light.on") || { textContent: "" }).textContent.includes("clipped")`)
		b.until("ten seconds", `parseFloat(document.querySelector(".time").textContent) > 10`)
		asked := see[[]map[string]any](b, "watched.mics")
		for _, helper := range []string{"echoCancellation", "noiseSuppression", "autoGainControl"} {
			if len(asked) != 1 || asked[0][helper] != false {
				t.Errorf("the microphone was asked for %v", asked)
			}
		}
		b.press("Stop and measure")
		b.until("the take", `location.hash.startsWith("#take=recorded") && document.querySelector(".verdict .headline")`)
		var got diagnose.Take
		readJSON(t, filepath.Join(p.folder, "recorded here.json"), &got)
		if got.Recording.DurationS < 9.5 || got.Recording.Channels != 1 || len(got.Strokes) < 20 {
			t.Errorf("recorded %+v with %d strokes", got.Recording, len(got.Strokes))
		}
		b.noErrors("record")
	})

	step("pictures", func(t *testing.T, b *tab) {
		b.do(chromedp.Navigate(p.url))
		b.until("the list", `document.querySelectorAll(".takes li").length === 4`)
		b.pictures("first", "light", "dark")
		b.do(chromedp.Navigate(p.url + "#take=shelf%207.wav"))
		b.until("the sound", `document.querySelector(".pair .sound-line")`)
		b.pictures("take", "light", "dark")
		b.noErrors("pictures")
	})

	step("odd names are only text", func(t *testing.T, b *tab) {
		odd := "<img src=x onerror=alert(1)>.wav"
		if err := os.WriteFile(filepath.Join(p.folder, odd), raw, 0o666); err != nil {
			t.Skip("this system keeps no such name:", err)
		}
		b.do(chromedp.Navigate("about:blank"), chromedp.Navigate(p.url))
		b.until("the list", `document.querySelectorAll(".takes li").length === 5`)
		if see[int](b, `document.querySelectorAll("img").length`) != 0 {
			t.Error("a name became markup")
		}
		b.press("<img src=x")
		b.press("Measure it")
		b.until("the take", `document.querySelector(".verdict .headline")`)
		b.noErrors("odd names")
	})
}
