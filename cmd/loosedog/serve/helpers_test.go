package serve

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"io"
	"math"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"loosedog/diagnose"
)

// wav is a recording of seconds of a quiet tone, 16 bits at 8 kHz.
func wav(seconds float64) []byte {
	const rate = 8000
	n := int(seconds * rate)
	var b bytes.Buffer
	le := func(v any) { binary.Write(&b, binary.LittleEndian, v) }
	b.WriteString("RIFF")
	le(uint32(36 + 2*n))
	b.WriteString("WAVEfmt ")
	le(uint32(16))
	le(uint16(1))
	le(uint16(1))
	le(uint32(rate))
	le(uint32(2 * rate))
	le(uint16(2))
	le(uint16(16))
	b.WriteString("data")
	le(uint32(2 * n))
	for i := range n {
		le(int16(1000 * math.Sin(float64(i)/5)))
	}
	return b.Bytes()
}

// lineTake is a take of one line in which one letter is crowded.
func lineTake() *diagnose.Take {
	u := diagnose.Unknown()
	none := diagnose.Figure{Median: u, P95: u, Low: u, High: u}
	t := &diagnose.Take{
		Schema:    diagnose.Schema,
		Recording: diagnose.Recording{Path: "x", SampleRateHz: 8000, Channels: 1, DurationS: 3, Usable: true, StrikeToNoiseDB: 40},
		Lines:     []diagnose.Line{{StartS: 1, EndS: 1.4, Strokes: 3, BellS: u, ReturnS: u}},
		Summary: diagnose.Summary{Strokes: 3, Lines: 1, RatePerS: 5, Crowded: 1,
			LeadMS: none, LatencyMS: none, MachineLatencyMS: none, TravelMS: none, ReadyMS: none},
		Findings: []diagnose.Finding{},
	}
	for i := range 3 {
		at := diagnose.Number(1 + 0.2*float64(i))
		s := diagnose.Stroke{
			Index: i, Kind: diagnose.KindType, Position: i,
			TripS: at - 0.004, StrikeS: at, ReleaseS: at + 0.05, LandingS: at + 0.09,
			ShortBy: u, IntervalMS: 200, LatencyMS: 50, TravelMS: 40, ReadyMS: 90, SlackMS: 110,
		}
		if i == 2 {
			crowded := diagnose.SpacingCrowded
			s.Spacing, s.ShortBy, s.IntervalMS, s.SlackMS = &crowded, 0.4, u, u
		}
		t.Strokes = append(t.Strokes, s)
	}
	return t
}

// served is a server over a folder of its own, at an address of its own.
type served struct {
	t      *testing.T
	folder string
	addr   string
	stop   func()
}

// serving starts a server; measure may be nil.
func serving(t *testing.T, limits Limits, measure MeasureFunc) *served {
	t.Helper()
	dir := t.TempDir()
	if measure == nil {
		measure = func(_ context.Context, path string, ask Ask, progress func(string, float64)) (*diagnose.Take, error) {
			progress("reading", 0.5)
			take := lineTake()
			take.Corrections = ask.Corrections
			return take, nil
		}
	}
	s, err := New(Options{Folder: dir, Measure: measure, Sheet: "type this", Limits: limits})
	if err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, ln) }()
	ended := false
	stop := func() {
		if ended {
			return
		}
		ended = true
		cancel()
		if err := <-done; err != nil {
			t.Errorf("the server ended with %v", err)
		}
		s.Close()
	}
	t.Cleanup(stop)
	return &served{t, dir, ln.Addr().String(), stop}
}

// ask sends a request as our own page would; change may make it another's.
func (s *served) ask(method, path string, body []byte, change func(*http.Request)) (int, http.Header, string) {
	s.t.Helper()
	r, err := http.NewRequest(method, "http://"+s.addr+path, bytes.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	if method != http.MethodGet {
		r.Header.Set("Origin", "http://"+s.addr)
	}
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/json")
	}
	if change != nil {
		change(r)
	}
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: 20 * time.Second}
	res, err := client.Do(r)
	if err != nil {
		return 0, nil, err.Error()
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		return res.StatusCode, res.Header, err.Error()
	}
	return res.StatusCode, res.Header, string(b)
}

// put brings a take in.
func (s *served) put(name string, body []byte) (int, string) {
	code, _, text := s.ask(http.MethodPut, "/api/takes/"+name, body, nil)
	return code, text
}

// files are the names in the folder, hidden ones too.
func (s *served) files() []string {
	s.t.Helper()
	list, err := os.ReadDir(s.folder)
	if err != nil {
		s.t.Fatal(err)
	}
	names := []string{}
	for _, f := range list {
		names = append(names, f.Name())
	}
	return names
}

// write lays a file into the folder.
func (s *served) write(name string, b []byte) {
	s.t.Helper()
	if err := os.WriteFile(filepath.Join(s.folder, name), b, 0o666); err != nil {
		s.t.Fatal(err)
	}
}

// errorOf is the error that an answer speaks of, which must be one clear line.
func (s *served) errorOf(text string) string {
	s.t.Helper()
	var v struct{ Error string }
	if json.Unmarshal([]byte(text), &v) != nil || v.Error == "" || strings.ContainsAny(v.Error, "\n\r") ||
		strings.HasSuffix(v.Error, ".") || strings.Contains(v.Error, s.folder) {
		s.t.Errorf("not a clear error: %q", text)
	}
	return v.Error
}
