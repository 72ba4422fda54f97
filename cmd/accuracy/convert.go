package main

import (
	"bytes"
	"context"
	"fmt"
	"os/exec"
	"strings"
)

// convert turns a WAV file into another one with ffmpeg; out's ending says what.
func convert(ctx context.Context, in, out string, options ...string) error {
	args := append([]string{"-hide_banner", "-nostdin", "-loglevel", "error", "-i", in}, options...)
	said, err := exec.CommandContext(ctx, "ffmpeg", append(args, out)...).CombinedOutput()
	if err != nil {
		return fmt.Errorf("ffmpeg %s: %w: %s", strings.Join(options, " "), err, bytes.TrimSpace(said))
	}
	return nil
}

// encoders tells which encoders ffmpeg has; nil when it is not installed.
func encoders(ctx context.Context) map[string]bool {
	out, err := exec.CommandContext(ctx, "ffmpeg", "-hide_banner", "-encoders").Output()
	if err != nil {
		return nil
	}
	have := map[string]bool{}
	for line := range strings.Lines(string(out)) {
		// " A....D libmp3lame   libmp3lame MP3 ..."
		if f := strings.Fields(line); len(f) > 1 && strings.HasPrefix(f[0], "A") {
			have[f[1]] = true
		}
	}
	return have
}

// missing names the damages that cannot be done here.
func missing(have map[string]bool) []string {
	var names []string
	for _, d := range damages() {
		if d.tool != "" && !have[d.tool] {
			names = append(names, d.name)
		}
	}
	return names
}
