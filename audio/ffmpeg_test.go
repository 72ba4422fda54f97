package audio

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"
)

// clickTake writes a few seconds of decaying clicks in noise, 44.1 kHz.
func clickTake(t testing.TB, path string) []float64 {
	t.Helper()
	x := typing(44100, 4, 0.5, -60, 0.02)
	if err := WriteWAV(path, 44100, 16, x); err != nil {
		t.Fatal(err)
	}
	got, _ := readAll(t, path, 4096)
	return got
}

// What is not WAV comes through ffmpeg: lossless formats to the same samples,
// lossy ones in the right length and at the right place.
func TestOtherFormats(t *testing.T) {
	needTool(t, "ffmpeg")
	dir := t.TempDir()
	wav := filepath.Join(dir, "take.wav")
	want := clickTake(t, wav)
	tests := []struct {
		file, name string
		args       []string
		lossy      string // codec
	}{
		{"take.flac", "flac", nil, ""},
		{"take.m4a", "m4a", []string{"-c:a", "aac", "-b:a", "64k"}, "aac"},
		{"alac.m4a", "m4a", []string{"-c:a", "alac"}, ""},
		{"take.mp3", "mp3", []string{"-b:a", "96k"}, "mp3"},
		{"take.ogg", "ogg", []string{"-c:a", "libvorbis"}, "vorbis"},
		{"take.opus", "ogg", []string{"-c:a", "libopus", "-ar", "48000"}, "opus"},
		{"take.webm", "webm", []string{"-c:a", "libopus", "-ar", "48000"}, "opus"},
		{"take.caf", "caf", nil, ""},
		{"take.aiff", "aiff", nil, ""},
		{"take.w64", "w64", nil, ""},
		// Its content decides, not its name.
		{"really-flac.wav", "flac", []string{"-f", "flac"}, ""},
		// Names that a command line or a shell could take for something else.
		{"-i.flac", "flac", nil, ""},
		{"a b;'$(x) \"%d é:c.flac", "flac", nil, ""},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			path := filepath.Join(dir, tt.file)
			args := append([]string{"-v", "error", "-y", "-i", wav}, tt.args...)
			run(t, "ffmpeg", append(args, "file:"+path)...)
			if strings.HasPrefix(tt.file, "-") {
				t.Chdir(dir) // so that the path itself begins with '-'
				path = tt.file
			}
			got, s := readAll(t, path, 1000)
			if f := s.Format(); f.Name != tt.name+", through ffmpeg" || f.Channels != 1 {
				t.Errorf("format %+v", f)
			}
			if tt.lossy == "" {
				same(t, got, want, 0)
				if len(s.Problems()) != 0 {
					t.Errorf("problems %v", s.Problems())
				}
				return
			}
			secs := float64(len(got)) / float64(s.Format().SampleRate)
			if math.Abs(secs-4) > 0.06 { // a codec's frame and its delay
				t.Errorf("lasts %.3f s, want 4", secs)
			}
			ps := s.Problems()
			if len(ps) != 1 || ps[0].Code != "lossy-codec" || !strings.Contains(ps[0].Text, tt.lossy) {
				t.Errorf("problems %v", ps)
			}
		})
	}
}

// The file's own rate and channels are kept, and more than eight refused.
func TestOtherChannels(t *testing.T) {
	needTool(t, "ffmpeg", "sox")
	dir := t.TempDir()
	for _, tt := range []struct{ channels, rate string }{{"2", "8000"}, {"6", "96000"}, {"8", "48000"}} {
		path := filepath.Join(dir, "take.flac")
		run(t, "sox", "-R", "-n", "-b", "24", "-r", tt.rate, "-c", tt.channels, path, "synth", "0.3", "pinknoise", "gain", "-3")
		wav := filepath.Join(dir, "take.wav")
		run(t, "sox", path, wav)
		want, w := readAll(t, wav, 1000)
		got, s := readAll(t, path, 1000)
		if s.Format().Channels != w.Format().Channels || s.Format().SampleRate != w.Format().SampleRate {
			t.Errorf("format %+v, want %+v", s.Format(), w.Format())
		}
		same(t, got, want, 0)
	}
	path := filepath.Join(dir, "wide.caf")
	run(t, "ffmpeg", "-v", "error", "-f", "lavfi", "-i", "anullsrc=r=48000:cl=hexadecagonal:d=0.1", "-c:a", "pcm_s16le", path)
	_, err := Open(context.Background(), path)
	if !errors.Is(err, ErrUnreadable) || !strings.Contains(err.Error(), "16 channels") {
		t.Errorf("16 channels: %v", err)
	}
}

// Broken files, and files that try to make ffmpeg read others, get one line.
func TestOtherBroken(t *testing.T) {
	needTool(t, "ffmpeg")
	dir := t.TempDir()
	wav := filepath.Join(dir, "take.wav")
	want := clickTake(t, wav)
	flac := filepath.Join(dir, "take.flac")
	run(t, "ffmpeg", "-v", "error", "-i", wav, flac)
	whole, err := os.ReadFile(flac)
	if err != nil {
		t.Fatal(err)
	}
	video := filepath.Join(dir, "silent.mp4")
	run(t, "ffmpeg", "-v", "error", "-f", "lavfi", "-i", "color=d=0.2:s=32x32:r=5", "-c:v", "mpeg4", video)
	for name, file := range map[string][]byte{
		"magic only.m4a":  append([]byte{0, 0, 0, 24}, "ftypM4A \x00\x00\x00\x00"...),
		"magic only.ogg":  []byte("OggS\x00\x02aaaaaaaaaaaaaaaaaaaaaa"),
		"magic only.mp3":  append([]byte("ID3\x04\x00\x00\x00\x00\x00\x00"), bytes.Repeat([]byte{0}, 500)...),
		"magic only.flac": []byte("fLaC\x00\x00\x00"),
		"header.flac":     whole[:42],
		"random.bin":      bytes.Repeat([]byte{0, 1, 0x7F, 0x80, 3, 9, 200}, 300),
		"picture.png":     []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR\x00\x00\x00\x01\x00\x00\x00\x01\x08\x02\x00\x00\x00"),
		"concat\x01.ogg":  []byte("ffconcat version 1.0\nfile take.flac\n\x00"),
		"list\x01.mp3":    []byte("#EXTM3U\n#EXTINF:1,\ntake.flac\n\x00"),
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(dir, name)
			if err := os.WriteFile(path, file, 0o600); err != nil {
				t.Fatal(err)
			}
			checkUnreadable(t, path, "ffmpeg")
		})
	}
	t.Run("no sound in it", func(t *testing.T) { checkUnreadable(t, video, "ffmpeg") })
	t.Run("text", func(t *testing.T) {
		path := filepath.Join(dir, "list.mp3")
		if err := os.WriteFile(path, []byte("#EXTM3U\n#EXTINF:1,\ntake.flac\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		checkUnreadable(t, path, "it is a text")
	})
	t.Run("cut short", func(t *testing.T) {
		path := filepath.Join(dir, "cut.flac")
		if err := os.WriteFile(path, whole[:len(whole)/2], 0o600); err != nil {
			t.Fatal(err)
		}
		got, s := readAll(t, path, 1000)
		if n := len(got); n < len(want)/4 || n > len(want)*3/4 {
			t.Errorf("%d samples of %d", n, len(want))
		}
		if c := codes(s.Problems()); !slices.Contains(c, "damaged") && !slices.Contains(c, "cut-short") {
			t.Errorf("problems %v", s.Problems())
		}
	})
}

// Without ffmpeg the error names the one command that converts the file.
func TestNoFFmpeg(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	for _, tt := range []struct{ name, file, want string }{
		{"take.m4a", "\x00\x00\x00\x18ftypM4A ", "it is not WAV but m4a"},
		{"it's.mp3", "ID3\x04\x00", "it is not WAV but mp3"},
		{"x.bin", "\x00\x01\x02\x03", "ffmpeg"},
	} {
		path := write(t, tt.name, []byte(tt.file))
		checkUnreadable(t, path, tt.want)
		_, err := Open(context.Background(), path)
		if want := convertCommand(path); !strings.Contains(err.Error(), want) {
			t.Errorf("%v does not name %s", err, want)
		}
	}
}

func TestConvertCommand(t *testing.T) {
	for path, want := range map[string]string{
		"take.m4a":   "ffmpeg -i take.m4a take.wav",
		"a/b c.mp3":  "ffmpeg -i 'a/b c.mp3' 'a/b c.wav'",
		"-i.ogg":     "ffmpeg -i ./-i.ogg ./-i.wav",
		"it's.ogg":   `ffmpeg -i 'it'\''s.ogg' 'it'\''s.wav'`,
		"gsm.wav":    "ffmpeg -i gsm.wav gsm-pcm.wav",
		"noext":      "ffmpeg -i noext noext.wav",
		"$(x).a.m4a": "ffmpeg -i '$(x).a.m4a' '$(x).a.wav'",
	} {
		if got := convertCommand(path); got != want {
			t.Errorf("%s: %s, want %s", path, got, want)
		}
	}
}

// A stopped or closed stream leaves no ffmpeg behind.
func TestFFmpegStops(t *testing.T) {
	needTool(t, "ffmpeg")
	if runtime.GOOS != "linux" {
		t.Skip("looks for children in /proc")
	}
	path := filepath.Join(t.TempDir(), "long.flac")
	run(t, "ffmpeg", "-v", "error", "-f", "lavfi", "-i", "anoisesrc=d=200:r=48000:a=0.1", path)
	children := func() int {
		out, err := os.ReadFile("/proc/thread-self/children")
		if err != nil {
			t.Skip(err)
		}
		_ = out
		n := 0
		entries, _ := os.ReadDir("/proc/self/task")
		for _, e := range entries {
			b, _ := os.ReadFile("/proc/self/task/" + e.Name() + "/children")
			n += len(strings.Fields(string(b)))
		}
		return n
	}
	before := children()
	for _, how := range []string{"close", "cancel", "survey"} {
		ctx, cancel := context.WithCancel(context.Background())
		if how == "survey" {
			go func() { time.Sleep(100 * time.Millisecond); cancel() }()
			if _, err := Survey(ctx, path, nil); !errors.Is(err, context.Canceled) || errors.Is(err, ErrUnreadable) {
				t.Errorf("survey: %v", err)
			}
		} else {
			s, err := Open(ctx, path)
			if err != nil {
				t.Fatal(err)
			}
			buf := make([]float64, 1000)
			if _, err := s.Read(buf); err != nil {
				t.Fatal(err)
			}
			if children() != before+1 {
				t.Errorf("%d children while reading", children()-before)
			}
			if how == "cancel" {
				cancel()
				var err error
				for err == nil {
					_, err = s.Read(buf)
				}
				if !errors.Is(err, context.Canceled) {
					t.Errorf("got %v", err)
				}
			}
			s.Close()
			if _, err := s.Read(buf); err == nil || err == io.EOF {
				t.Errorf("after Close: %v", err)
			}
			s.Close() // twice is no harm
		}
		cancel()
		if n := children(); n != before {
			t.Errorf("%s: %d children left", how, n-before)
		}
	}
	// Already stopped.
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Open(ctx, path); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped before: %v", err)
	}
}
