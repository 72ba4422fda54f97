package audio

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"time"
)

// hintConvert stands in for the command that converts the file until its path
// is known.
const hintConvert = "\x00convert"

// ffmpegFormats are the demuxers that ffmpeg may use. Play lists and scripts,
// which would make it open other files, are not among them.
const ffmpegFormats = "mov,mp4,m4a,3gp,3g2,mj2,ogg,flac,mp3,aac,caf,amr,amrnb,amrwb,matroska,webm,aiff,au,wv,ape,asf,w64,wav,avi,mpeg,mpegts,loas,tta,tak,dsf"

// lossless are ffmpeg's codec names that keep samples as they are; what is not
// among them smears clicks.
var lossless = regexp.MustCompile(`^(flac|alac|wavpack|ape|tta|tak|mlp|truehd|pcm_.*|wmalossless|shorten|mp4als)$`)

// convertCommand is the one command that makes a WAV file of the recording.
func convertCommand(path string) string {
	out := strings.TrimSuffix(path, filepath.Ext(path)) + ".wav"
	if out == path {
		out = strings.TrimSuffix(path, filepath.Ext(path)) + "-pcm.wav"
	}
	return "ffmpeg -i " + shellQuote(path) + " " + shellQuote(out)
}

var shellSafe = regexp.MustCompile(`^[A-Za-z0-9_./+@%=,:-]+$`)

// shellQuote writes a path so that it can be pasted into a shell.
func shellQuote(path string) string {
	if strings.HasPrefix(path, "-") {
		path = "./" + path
	}
	if shellSafe.MatchString(path) {
		return path
	}
	return "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
}

// openFFmpeg decodes a file with ffmpeg, which writes float WAV into a pipe.
// name is the file's format, "" when it is not known.
func openFFmpeg(ctx context.Context, path, name string) (*Stream, error) {
	exe, err := exec.LookPath("ffmpeg")
	if err != nil {
		what := "it is not WAV but " + name + ", which ffmpeg decodes, and ffmpeg is not installed"
		if name == "" {
			what = "it is not a WAV file, and ffmpeg, which may know its format, is not installed"
		}
		return nil, &UnreadableError{Path: path, Reason: what,
			Hint: "install ffmpeg, or convert it elsewhere: " + convertCommand(path)}
	}
	asked := ctx
	ctx, cancel := context.WithCancel(asked)
	// "file:" keeps names that begin with '-' or hold a ':' from being taken
	// for something else.
	cmd := exec.CommandContext(ctx, exe, "-hide_banner", "-nostdin", "-nostats", "-loglevel", "level+info",
		"-protocol_whitelist", "file,pipe", "-format_whitelist", ffmpegFormats,
		"-i", "file:"+path, "-map", "0:a:0", "-vn", "-sn", "-dn", "-map_metadata", "-1",
		"-c:a", "pcm_f32le", "-bitexact", "-f", "wav", "pipe:1")
	cmd.WaitDelay = 5 * time.Second
	told := &tail{max: 1 << 15}
	cmd.Stderr = told
	out, err := cmd.StdoutPipe()
	if err != nil {
		cancel()
		return nil, fmt.Errorf("cannot start ffmpeg for %q: %w", path, err)
	}
	if err := cmd.Start(); err != nil {
		cancel()
		return nil, fmt.Errorf("cannot start ffmpeg for %q: %w", path, err)
	}
	var once sync.Once
	var exit error
	wait := func() error {
		once.Do(func() { exit = cmd.Wait() })
		return exit
	}
	stop := func() error {
		cancel()
		out.Close()
		wait() // that it was killed is no news
		return nil
	}

	s, err := ffmpegStream(ctx, path, name, out)
	if err != nil {
		// Let it say why before it is stopped; its output has ended or makes no
		// sense, so this cannot last.
		if errors.Is(err, io.ErrUnexpectedEOF) {
			wait()
		}
		stop()
		if c := asked.Err(); c != nil {
			return nil, fmt.Errorf("reading %q was stopped: %w", path, c)
		}
		if u := (*UnreadableError)(nil); errors.As(err, &u) {
			return nil, atPath(path, u)
		}
		why := told.complaint(path)
		if why == "" {
			why = "no sound came out of it"
		}
		return nil, &UnreadableError{Path: path, Reason: "ffmpeg cannot decode it: " + why, Hint: "record again, as WAV if you can"}
	}
	s.closer = stop
	s.finish = func(s *Stream) error {
		err := wait()
		why := told.complaint(path)
		switch {
		case err != nil && asked.Err() != nil:
			return fmt.Errorf("reading %q was stopped: %w", path, asked.Err())
		case err != nil && s.read == 0:
			return &UnreadableError{Path: path, Reason: "ffmpeg cannot decode it: " + why, Hint: "record again, as WAV if you can"}
		case err != nil:
			if why == "" {
				why = err.Error()
			}
			s.note("cut-short", "ffmpeg could not decode all of it (%s); %s were read", why, seconds(s.read, s.format.SampleRate))
		case why != "":
			s.note("damaged", "ffmpeg met damaged parts and went on (%s); %s were read; copy the recording again", why, seconds(s.read, s.format.SampleRate))
		}
		if codec := told.codec(); codec != "" && !lossless.MatchString(codec) {
			s.note("lossy-codec", "the recording is stored as %s, which smears clicks over some milliseconds; record as WAV if the recorder can", codec)
		}
		return nil
	}
	return s, nil
}

// ffmpegStream reads the header that ffmpeg writes.
func ffmpegStream(ctx context.Context, path, name string, out io.Reader) (*Stream, error) {
	br := bufio.NewReaderSize(out, blockBytes)
	head, err := br.Peek(4096)
	if len(head) < 44 {
		if err == nil || err == io.EOF {
			err = io.ErrUnexpectedEOF
		}
		return nil, err
	}
	lay, err := walk(bytes.NewReader(head), int64(len(head)))
	if err != nil {
		return nil, err
	}
	if _, err := br.Discard(int(lay.offset)); err != nil {
		return nil, err
	}
	lay.problems = nil // an open length is what a pipe has
	s := newStream(ctx, path, lay, br)
	if name == "" {
		name = "other format"
	}
	s.format.Name = name + ", through ffmpeg"
	s.format.Bits = 0 // of the stored samples nothing is known
	return s, nil
}

// tail keeps what ffmpeg says, up to a bound: the first half and the last.
type tail struct {
	mu    sync.Mutex
	max   int
	first []byte
	last  []byte
}

func (t *tail) Write(p []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	n := len(p)
	if room := t.max/2 - len(t.first); room > 0 {
		k := min(room, len(p))
		t.first = append(t.first, p[:k]...)
		p = p[k:]
	}
	t.last = append(t.last, p...)
	if over := len(t.last) - t.max/2; over > 0 {
		t.last = append(t.last[:0], t.last[over:]...)
	}
	return n, nil
}

func (t *tail) lines() []string {
	t.mu.Lock()
	defer t.mu.Unlock()
	return strings.Split(string(t.first)+string(t.last), "\n")
}

// complaint is the last error that ffmpeg named, without its brackets.
func (t *tail) complaint(path string) string {
	why := ""
	for _, l := range t.lines() {
		_, what, ok := strings.Cut(l, "[error] ")
		if !ok {
			_, what, ok = strings.Cut(l, "[fatal] ")
		}
		if !ok || strings.TrimSpace(what) == "" {
			continue
		}
		what = strings.TrimPrefix(what, "file:"+path+": ")
		why = oneLine(what)
	}
	return why
}

var audioLine = regexp.MustCompile(`Stream #0:\d+.*: Audio: ([a-z0-9_]+)`)

// codec is ffmpeg's name of the codec of the first sound track; "" when it did
// not say.
func (t *tail) codec() string {
	for _, l := range t.lines() {
		if m := audioLine.FindStringSubmatch(l); m != nil {
			return m[1]
		}
	}
	return ""
}
