package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net/http"
	"os"
	"regexp"
	"strings"
	"testing"

	"loosedog/cmd/loosedog/serve"
)

// TestServe: the command says where the page is, serves it, and ends without an
// error and without a trace when it is stopped.
func TestServe(t *testing.T) {
	for addr, warns := range map[string]bool{"127.0.0.1:0": false, "0.0.0.0:0": true} {
		dir := t.TempDir()
		ctx, cancel := context.WithCancel(t.Context())
		out, in := io.Pipe()
		var errs bytes.Buffer
		code := make(chan int, 1)
		go func() {
			code <- run(ctx, []string{"serve", dir, "--no-open", "--addr", addr}, nil, in, &errs)
			in.Close()
		}()
		lines := bufio.NewScanner(out)
		if !lines.Scan() {
			t.Fatalf("it said nothing; %s", errs.String())
		}
		url := regexp.MustCompile(`^The page is at (http://127\.0\.0\.1:\d+/)$`).FindStringSubmatch(lines.Text())
		if url == nil {
			t.Fatalf("it said %q", lines.Text())
		}
		go io.Copy(io.Discard, out)
		res, err := http.Get(url[1])
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(res.Body)
		res.Body.Close()
		if err != nil || res.StatusCode != 200 || !strings.Contains(string(body), "<title>Loosedog</title>") {
			t.Errorf("%d %v %.80q", res.StatusCode, err, body)
		}
		cancel()
		if got := <-code; got != exitMeasured {
			t.Errorf("exit code %d", got)
		}
		if warned := strings.Contains(errs.String(), "warning: everybody in this network"); warned != warns || strings.Contains(errs.String(), "error") {
			t.Errorf("%s: it said %q", addr, errs.String())
		}
		if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
			t.Errorf("left behind: %v %v", left, err)
		}
	}
}

// A recording that cannot be measured is shown as that, and one that cannot be
// read is an error in words.
func TestMeasureForPage(t *testing.T) {
	dir := t.TempDir()
	noise, err := wavOf("noise")
	if err != nil {
		t.Fatal(err)
	}
	path := dir + "/noise.wav"
	if err := os.WriteFile(path, noise, 0o666); err != nil {
		t.Fatal(err)
	}
	told := ""
	take, err := measureForPage(t.Context(), path, serve.Ask{Action: "full", Pitch: 10}, func(part string, done float64) {
		if part != told && done >= 0 && done <= 1 {
			told = part
		}
	})
	if err != nil || take == nil || take.Recording.Usable || told != "listening" {
		t.Errorf("%v, %v, told %q", take, err, told)
	}
	if _, err := measureForPage(t.Context(), dir+"/none.wav", serve.Ask{Action: "full", Pitch: 10}, func(string, float64) {}); err == nil {
		t.Error("a file that is not there was measured")
	}
}
