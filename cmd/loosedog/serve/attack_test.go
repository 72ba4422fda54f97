package serve

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"loosedog/diagnose"
)

// small limits make attacks short.
var small = Limits{
	TakeBytes: 1 << 20, TakeSeconds: 60, Uploads: 2, Measurements: 1, Waiting: 1,
	Quiet: 300 * time.Millisecond, BytesPerS: 64 << 10,
}

// A name that was made to lead to this computer opens nothing.
func TestForeignHost(t *testing.T) {
	s := serving(t, small, nil)
	_, port, _ := net.SplitHostPort(s.addr)
	for host, want := range map[string]int{
		s.addr: 200, "localhost:" + port: 200, "LOCALHOST.:" + port: 200, "[::1]:" + port: 200, "192.168.1.7:" + port: 200,
		"evil.example": 403, "evil.example:" + port: 403, "127.0.0.1.evil.example": 403, "localhost.evil.example": 403,
		"": 400, "127.0.0.1@evil.example": 400, "localhost:80:80": 403,
	} {
		conn, err := net.Dial("tcp", s.addr)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(conn, "GET /api/folder HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n", host)
		raw, _ := io.ReadAll(conn)
		conn.Close()
		line, _, _ := strings.Cut(string(raw), "\r\n")
		if !strings.Contains(line, fmt.Sprint(" ", want, " ")) && !(want == 400 && strings.Contains(line, " 403 ")) {
			t.Errorf("Host %q: %q, want %d", host, line, want)
		}
	}
}

// Another page in the same browser can neither change nor read anything.
func TestForeignOrigin(t *testing.T) {
	s := serving(t, small, nil)
	s.write("a.wav", wav(1))
	for _, c := range []struct {
		what, method, path string
		change             func(http.Header)
		want               int
	}{
		{"our own page", "PUT", "/api/takes/b.wav", func(h http.Header) {}, 201},
		{"another site", "PUT", "/api/takes/c.wav", func(h http.Header) { h.Set("Origin", "http://evil.example") }, 403},
		{"another port", "PUT", "/api/takes/c.wav", func(h http.Header) { h.Set("Origin", "http://127.0.0.1:1") }, 403},
		{"no page at all", "PUT", "/api/takes/c.wav", func(h http.Header) { h.Del("Origin") }, 403},
		{"a page in a cage", "PUT", "/api/takes/c.wav", func(h http.Header) { h.Set("Origin", "null") }, 403},
		{"two origins", "PUT", "/api/takes/c.wav", func(h http.Header) { h.Add("Origin", "http://evil.example") }, 403},
		{"measuring", "POST", "/api/takes/a.wav/measure", func(h http.Header) { h.Set("Origin", "http://evil.example") }, 403},
		{"a look with a body", "HEAD", "/api/folder", func(h http.Header) {}, 400},
		{"a form's post", "POST", "/api/takes/a.wav/measure", func(h http.Header) { h.Set("Content-Type", "text/plain") }, 415},
		{"reading from another site", "GET", "/api/folder", func(h http.Header) { h.Set("Sec-Fetch-Site", "cross-site") }, 403},
		{"an origin that only looks", "GET", "/api/folder", func(h http.Header) { h.Set("Origin", "http://evil.example") }, 403},
		{"a link from another site", "GET", "/", func(h http.Header) {
			h.Set("Sec-Fetch-Site", "cross-site")
			h.Set("Sec-Fetch-Mode", "navigate")
		}, 200},
		{"a frame of another site's", "GET", "/api/folder", func(h http.Header) {
			h.Set("Sec-Fetch-Site", "cross-site")
			h.Set("Sec-Fetch-Mode", "navigate")
		}, 403},
	} {
		body := wav(1)
		switch c.method {
		case "POST":
			body = []byte("{}")
		case "GET":
			body = nil
		}
		code, _, text := s.ask(c.method, c.path, body, func(r *http.Request) { c.change(r.Header) })
		if code != c.want {
			t.Errorf("%s: %d, want %d: %s", c.what, code, c.want, text)
		}
	}
	if got := s.files(); !slices.Equal(got, []string{"a.wav", "b.wav"}) {
		t.Errorf("the folder holds %q", got)
	}
}

// Every answer, errors too, says what the page may load.
func TestHeaders(t *testing.T) {
	s := serving(t, small, nil)
	for _, path := range []string{"/", "/page/page.css", "/api/folder", "/nothing", "/api/takes/none.wav"} {
		_, h, _ := s.ask("GET", path, nil, nil)
		csp := h.Get("Content-Security-Policy")
		if !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "unsafe") || strings.Contains(csp, "*") ||
			!strings.Contains(csp, "frame-ancestors 'none'") || h.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: %v", path, h)
		}
		if h.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s lets others in", path)
		}
	}
}

// No name leads out of the folder, to a hidden file, or through a link.
func TestTraversal(t *testing.T) {
	s := serving(t, small, nil)
	outside := filepath.Join(filepath.Dir(s.folder), "outside.wav")
	if err := os.WriteFile(outside, wav(1), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(outside, filepath.Join(s.folder, "link.wav")); err != nil {
		t.Skip("no symbolic links here:", err)
	}
	if err := os.Symlink(filepath.Dir(outside), filepath.Join(s.folder, "up.wav")); err != nil {
		t.Fatal(err)
	}
	s.write(".hidden.wav", wav(1))
	s.write("secret.txt", []byte("secret"))
	if err := os.Mkdir(filepath.Join(s.folder, "dir.wav"), 0o777); err != nil {
		t.Fatal(err)
	}
	before := s.files()
	for _, name := range []string{
		"..%2Foutside.wav", "%2e%2e%2foutside.wav", "..%5Coutside.wav", "%2Fetc%2Fpasswd.wav", "link.wav", "up.wav", "dir.wav",
		".hidden.wav", "secret.txt", "..", ".", "C:%5Cx.wav", "a%00.wav", "a%0a.wav", "up.wav%2Foutside.wav", "%ff.wav", "a%E2%80%AEvaw.wav",
		"x.wav:stream", strings.Repeat("n", 300) + ".wav",
	} {
		for _, c := range [][2]string{{"GET", ""}, {"GET", "/sound?pair=0&from=0&to=1"}, {"GET", "/save/data"}, {"GET", "/save/page"}, {"POST", "/measure"}} {
			code, _, text := s.ask(c[0], "/api/takes/"+name+c[1], []byte("{}"), nil)
			if code < 300 || code >= 500 && code != 503 || strings.Contains(text, "secret") && name != "secret.txt" {
				if code >= 300 && code < 400 {
					continue
				}
				t.Errorf("%s %s%s: %d %s", c[0], name, c[1], code, text)
			}
		}
	}
	for _, path := range []string{"/page/..%2Fguard.go", "/page/index.html", "/page/saved.html", "/page/", "/page/%2e%2e"} {
		if code, _, text := s.ask("GET", path, nil, nil); code == 200 && !strings.Contains(text, "<!doctype") || code == 200 && path != "/page/" {
			t.Errorf("%s: %d", path, code)
		}
	}
	// Bringing something in under such a name keeps it in the folder.
	for _, name := range []string{"..%2F..%2Fescape.wav", "%2Ftmp%2Fescape.wav", "..%5Cescape.wav"} {
		if code, text := s.put(name, wav(1)); code != 201 && code != 409 {
			t.Errorf("%s: %d %s", name, code, text)
		}
	}
	if _, err := os.Stat(filepath.Join(filepath.Dir(s.folder), "escape.wav")); err == nil {
		t.Error("a file was written outside")
	}
	if got := len(s.files()); got != len(before)+1 {
		t.Errorf("%q before, %q after", before, s.files())
	}
	// Bringing one in over a link or a folder changes neither.
	for _, name := range []string{"link.wav", "dir.wav"} {
		if code, _, text := s.ask("PUT", "/api/takes/"+name+"?replace=1", wav(2), nil); code != 409 {
			t.Errorf("%s: %d %s", name, code, text)
		}
	}
	if b, err := os.ReadFile(outside); err != nil || len(b) != len(wav(1)) {
		t.Error("the file behind a link was changed")
	}
	// A result that is a link is not followed, and not written through.
	s.write("a.wav", wav(1))
	target := filepath.Join(filepath.Dir(s.folder), "target.json")
	good, _ := json.Marshal(lineTake())
	if err := os.WriteFile(target, good, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(target, filepath.Join(s.folder, "a.json")); err != nil {
		t.Fatal(err)
	}
	if code, _, text := s.ask("POST", "/api/takes/a.wav/measure", []byte("{}"), nil); code != 409 {
		t.Errorf("a result behind a link: %d %s", code, text)
	}
	if code, _, _ := s.ask("GET", "/api/takes/a.wav", nil, nil); code != 409 {
		t.Errorf("a result behind a link was read: %d", code)
	}
}

// 10 GB are refused before a byte of them is read.
func TestHugeBody(t *testing.T) {
	s := serving(t, small, nil)
	conn, err := net.Dial("tcp", s.addr)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	fmt.Fprintf(conn, "PUT /api/takes/a.wav HTTP/1.1\r\nHost: %s\r\nOrigin: http://%s\r\nContent-Length: 10737418240\r\n\r\nRIFF", s.addr, s.addr)
	conn.SetReadDeadline(time.Now().Add(5 * time.Second))
	b := make([]byte, 200)
	n, _ := io.ReadAtLeast(conn, b, 12)
	if !strings.Contains(string(b[:n]), " 413 ") {
		t.Errorf("answered %q", b[:n])
	}
	// A length that is not announced, and one that lies.
	code, _, _ := s.ask("PUT", "/api/takes/a.wav", wav(1), func(r *http.Request) { r.ContentLength = -1 })
	if code != http.StatusLengthRequired {
		t.Errorf("a body without a length: %d", code)
	}
	if code, text := s.put("a.wav", append(wav(1), make([]byte, 2<<20)...)); code != 413 && code != 0 {
		t.Errorf("too long by a little: %d %s", code, text)
	}
	if got := s.files(); len(got) > 0 {
		t.Errorf("left behind: %q", got)
	}
	code, _, text := s.ask("POST", "/api/takes/a.wav/measure", []byte(`{"text":"`+strings.Repeat("x", longestAsk)+`"}`), nil)
	if code != 400 && code != 0 {
		t.Errorf("a text without end: %d %s", code, text)
	}
}

// Who sends a byte now and then is cut off, and leaves nothing.
func TestSlowUpload(t *testing.T) {
	s := serving(t, small, nil)
	body := wav(2)
	for name, pause := range map[string]time.Duration{"quiet": time.Second, "dripping": 50 * time.Millisecond} {
		conn, err := net.Dial("tcp", s.addr)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(conn, "PUT /api/takes/a.wav HTTP/1.1\r\nHost: %s\r\nOrigin: http://%s\r\nContent-Length: %d\r\n\r\n", s.addr, s.addr, len(body))
		conn.Write(body[:100])
		ended := make(chan string)
		go func() {
			conn.SetReadDeadline(time.Now().Add(10 * time.Second))
			b, _ := io.ReadAll(conn)
			ended <- string(b)
		}()
		var got string
	drip:
		for at := 100; at < len(body); at++ {
			select {
			case got = <-ended:
				break drip
			case <-time.After(pause):
				conn.Write(body[at : at+1])
			}
		}
		conn.Close()
		if !strings.Contains(got, " 400 ") {
			t.Errorf("%s: answered %q", name, got)
		}
		if left := s.files(); len(left) > 0 {
			t.Errorf("%s: left behind: %q", name, left)
		}
	}
	// The line is free for others again.
	if code, text := s.put("a.wav", wav(1)); code != 201 {
		t.Errorf("after them: %d %s", code, text)
	}
}

// Who sends on after a refusal still gets to read it.
func TestRefusedWhileSending(t *testing.T) {
	limits := small
	limits.Quiet = 10 * time.Second
	s := serving(t, limits, nil)
	conn, err := net.Dial("tcp", s.addr)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	fmt.Fprintf(conn, "PUT /api/takes/a.wav HTTP/1.1\r\nHost: %s\r\nOrigin: http://%s\r\nContent-Length: %d\r\n\r\n", s.addr, s.addr, 4<<20)
	part := make([]byte, 256<<10)
	for range 4 << 20 / len(part) {
		// Longer on the whole than the half second that net/http waits.
		time.Sleep(60 * time.Millisecond)
		if _, err := conn.Write(part); err != nil {
			t.Fatalf("cut off while sending: %v", err)
		}
	}
	conn.SetReadDeadline(time.Now().Add(10 * time.Second))
	if b, err := io.ReadAll(conn); err != nil || !strings.Contains(string(b), " 413 ") {
		t.Errorf("%v: %q", err, b)
	}
}

// Of 20 uploads at once each is taken whole or refused.
func TestManyUploads(t *testing.T) {
	limits := small
	limits.Quiet = 10 * time.Second
	s := serving(t, limits, nil)
	var wg sync.WaitGroup
	var mu sync.Mutex
	codes := map[int]int{}
	start := make(chan struct{})
	for i := range 20 {
		wg.Go(func() {
			<-start
			code, text := s.put(fmt.Sprintf("take%02d.wav", i), wav(20))
			if code != 201 && code != 503 {
				t.Errorf("upload %d: %d %s", i, code, text)
			}
			mu.Lock()
			codes[code]++
			mu.Unlock()
		})
	}
	close(start)
	wg.Wait()
	if codes[201] == 0 {
		t.Errorf("none was taken: %v", codes)
	}
	got := s.files()
	if len(got) != codes[201] {
		t.Errorf("%d taken, the folder holds %q", codes[201], got)
	}
	for _, f := range got {
		if info, err := os.Stat(filepath.Join(s.folder, f)); err != nil || info.Size() != int64(len(wav(20))) {
			t.Errorf("%s is not whole", f)
		}
	}
	// The same name twenty times: one is kept.
	for range 20 {
		wg.Go(func() { s.put("same.wav", wav(1)) })
	}
	wg.Wait()
	n := 0
	for _, f := range s.files() {
		if strings.HasPrefix(f, "same") {
			n++
		}
		if strings.HasSuffix(f, ".part") {
			t.Errorf("left behind: %s", f)
		}
	}
	if n != 1 {
		t.Errorf("%d takes of one name", n)
	}
}

// A measurement too many is refused, and who goes away stops his own.
func TestManyMeasurements(t *testing.T) {
	began := make(chan struct{}, 10)
	stopped := make(chan struct{}, 10)
	s := serving(t, small, func(ctx context.Context, _ string, _ Ask, _ func(string, float64)) (*diagnose.Take, error) {
		began <- struct{}{}
		<-ctx.Done()
		stopped <- struct{}{}
		return nil, ctx.Err()
	})
	s.write("a.wav", wav(1))
	open := func() (*http.Response, context.CancelFunc, error) {
		ctx, cancel := context.WithCancel(t.Context())
		r, _ := http.NewRequestWithContext(ctx, "POST", "http://"+s.addr+"/api/takes/a.wav/measure", strings.NewReader("{}"))
		r.Header.Set("Origin", "http://"+s.addr)
		r.Header.Set("Content-Type", "application/json")
		res, err := http.DefaultTransport.RoundTrip(r)
		return res, cancel, err
	}
	first, cancel1, err := open()
	if err != nil {
		t.Fatal(err)
	}
	<-began
	second, cancel2, err := open() // waits in line
	if err != nil {
		t.Fatal(err)
	}
	defer cancel2()
	third, cancel3, err := open()
	if err != nil {
		t.Fatal(err)
	}
	defer cancel3()
	if first.StatusCode != 200 || second.StatusCode != 200 || third.StatusCode != 503 || third.Header.Get("Retry-After") == "" {
		t.Errorf("%d, %d, %d; want 200, 200, 503", first.StatusCode, second.StatusCode, third.StatusCode)
	}
	cancel1()
	<-stopped
	<-began // the one in line
	s.stop()
	<-stopped
	if got := s.files(); !slices.Equal(got, []string{"a.wav"}) {
		t.Errorf("left behind: %q", got)
	}
}

// Sizes in a header that the bytes do not bear out are not believed.
func TestLyingWAV(t *testing.T) {
	s := serving(t, small, nil)
	lie := func(at int, v uint32) []byte {
		b := wav(1)
		binary.LittleEndian.PutUint32(b[at:], v)
		return b
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for name, c := range map[string]struct {
		body []byte
		want []int
	}{
		"data of 4 GB":     {lie(40, 0xFFFFFFF0), []int{201}},
		"format of 4 GB":   {lie(16, 0xFFFFFFF0), []int{415}},
		"file of no bytes": {lie(4, 0), []int{201}},
		"rate of nothing":  {lie(24, 0), []int{415}},
		"rate of 4 GHz":    {lie(24, 0xFFFFFFFF), []int{415}},
		"header only":      {wav(1)[:44], []int{201, 415}},
		"no WAV":           {[]byte(strings.Repeat("<html>", 100)), []int{415}},
		"RIFF of others":   {append([]byte("RIFF\x00\x00\x00\x00AVI "), make([]byte, 100)...), []int{415}},
		"nothing":          {nil, []int{415}},
	} {
		code, text := s.put(url.PathEscape(name)+".wav", c.body)
		if !slices.Contains(c.want, code) {
			t.Errorf("%s: %d %s, want %d", name, code, text, c.want)
		}
		if code != 201 {
			s.errorOf(text)
		}
	}
	runtime.ReadMemStats(&after)
	if grown := after.TotalAlloc - before.TotalAlloc; grown > 100<<20 {
		t.Errorf("%d MB were asked for", grown>>20)
	}
	for _, f := range s.files() {
		if strings.HasSuffix(f, ".part") {
			t.Errorf("left behind: %s", f)
		}
	}
	// Two minutes where one is the most.
	l := small
	l.TakeBytes = 1 << 30
	s = serving(t, l, nil)
	if code, text := s.put("long.wav", wav(61)); code != 413 {
		t.Errorf("a take that is too long: %d %s", code, text)
	}
	if got := s.files(); len(got) > 0 {
		t.Errorf("left behind: %q", got)
	}
}

// Names with markup, controls or other writing come in as plain names, or are
// not shown at all; never as markup.
func TestOddNames(t *testing.T) {
	s := serving(t, small, nil)
	for _, name := range []string{
		"<img src=x onerror=alert(1)>.wav", "a\u202egpj.wav", "tab\tand\nline.wav", "nul\x00.wav", "CON.wav", "...", " .wav", "ключ 錄音.wav",
		strings.Repeat("long ", 100) + ".wav", "a/b\\c.wav", "quote\"'.m4a", "\xff\xfe.wav", "emoji \U0001F600.wav",
	} {
		code, text := s.put(url.PathEscape(name), wav(1))
		if code != 201 && code != 409 {
			t.Errorf("%q: %d %s", name, code, text)
		}
	}
	for _, f := range s.files() {
		if strings.ContainsAny(f, "<>\"/\\\n\t\x00:*?|") || !strings.HasSuffix(f, ".wav") || len(f) > longestName+10 || takeName(f) != nil {
			t.Errorf("kept as %q", f)
		}
	}
	// What lies there under such a name is listed as it is, and can be opened.
	odd := "<b>bold & 'so'.wav"
	s.write(odd, wav(1))
	s.write("line\nbreak.wav", wav(1))
	code, h, text := s.ask("GET", "/api/folder", nil, nil)
	if code != 200 || !strings.HasPrefix(h.Get("Content-Type"), "application/json") {
		t.Fatalf("%d %v", code, h)
	}
	if strings.Contains(text, "<b>") {
		t.Error("a name stands in the answer as markup")
	}
	if !strings.Contains(text, `"odd":1`) {
		t.Errorf("a name with a line break was not counted as odd: %s", text)
	}
	if code, _, text := s.ask("POST", "/api/takes/"+url.PathEscape(odd)+"/measure", []byte("{}"), nil); code != 200 || !strings.Contains(text, `"name"`) {
		t.Errorf("measuring it: %d %s", code, text)
	}
	_, h, _ = s.ask("GET", "/api/takes/"+url.PathEscape(odd)+"/save/table", nil, nil)
	if d := h.Get("Content-Disposition"); !strings.HasPrefix(d, "attachment") || strings.ContainsAny(d, "\r\n") {
		t.Errorf("saved as %q", d)
	}
}
