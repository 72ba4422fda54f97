package onset_test

import (
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"loosedog/audio"
	"loosedog/diagnose/mechanism"
	"loosedog/onset"
)

// Speech is no typing, whoever speaks and how fast.
func TestSpeechIsNoTyping(t *testing.T) {
	if _, err := exec.LookPath("espeak-ng"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("espeak-ng is not installed, and CI=true asks for it")
		}
		t.Skip("espeak-ng is not installed")
	}
	for name, args := range map[string][]string{
		"a voice":   {"-v", "en", "-s", "160"},
		"slow":      {"-v", "en", "-s", "90", "-g", "20"},
		"high":      {"-v", "en+f3", "-s", "170", "-p", "80"},
		"whispered": {"-v", "en+whisper", "-s", "150"},
		"spelling":  {"-v", "de", "-s", "200", "-g", "5"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "speech.wav")
			text := mechanism.Shelf + "\n" + mechanism.Quay
			if name == "spelling" {
				text = "t k p t k k p t t k p k t p k t t p k p t k p t k k p t t k p k t p k t t p k p t k"
			}
			cmd := exec.Command("espeak-ng", append(args, "-w", path, text)...)
			if out, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("espeak-ng: %v\n%s", err, out)
			}
			x, rate := readAll(t, path)
			if len(x) < 5*int(rate) {
				t.Fatalf("only %d samples of speech", len(x))
			}
			take := detect(t, rate, x, "")
			wellFormed(t, take)
			if len(take.Strokes) > 0 || take.Usable {
				t.Errorf("%d strokes, usable: %v", len(take.Strokes), take.Usable)
			}
			// As cmd does it, with a survey.
			q, err := audio.Survey(context.Background(), path, nil)
			if err != nil {
				t.Fatal(err)
			}
			take, err = onset.Detect(context.Background(), &samples{rate, x}, q, onset.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if len(take.Strokes) > 0 || take.Usable {
				t.Errorf("with a survey: %d strokes, usable: %v", len(take.Strokes), take.Usable)
			}
		})
	}
}

// readAll is a file's first channel and its rate in Hz.
func readAll(t testing.TB, path string) ([]float64, float64) {
	t.Helper()
	m, err := audio.OpenMono(context.Background(), path, audio.Mix{})
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	var x []float64
	block := make([]float64, 8192)
	for {
		n, err := m.Read(block)
		x = append(x, block[:n]...)
		if errors.Is(err, io.EOF) {
			return x, m.SampleRate()
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}
