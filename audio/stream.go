package audio

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
)

// Stream is a recording being read, block by block.
type Stream struct {
	ctx    context.Context
	path   string
	format Format
	lay    *layout
	src    io.Reader // the sample data and nothing else
	closer func() error
	// finish is called once at the end of the data, and adds what only then is
	// known.
	finish   func(*Stream) error
	problems []Problem

	left    int64 // frames that src has still; -1 when open
	read    int64 // frames that came from it
	bad     int64 // samples that were not finite
	buf     []byte
	rest    []byte // whole frames of buf that were not handed out yet
	pending error
	done    bool // src has no more
}

// blockBytes is about how much of a file is read at once.
const blockBytes = 1 << 16

// Open opens a recording: WAV by our own reader, anything else through ffmpeg.
// The stream must be closed. An error of the file's own making is
// ErrUnreadable. The context stops reading (and ffmpeg).
func Open(ctx context.Context, path string) (*Stream, error) {
	// Stat first: to open a named pipe would wait for its writer.
	st, err := os.Stat(path)
	if err != nil {
		return nil, openError(path, err)
	}
	switch {
	case st.IsDir():
		return nil, &UnreadableError{Path: path, Reason: "it is a folder", Hint: "name one recording in it"}
	case !st.Mode().IsRegular():
		return nil, &UnreadableError{Path: path, Reason: "it is not a plain file", Hint: "save the recording to a file first"}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, openError(path, err)
	}
	s, err := openFile(ctx, path, f)
	if err != nil {
		f.Close()
		return nil, err
	}
	return s, nil
}

// openFile decides by the content how to read an open file, and takes it over
// unless it returns an error.
func openFile(ctx context.Context, path string, f *os.File) (*Stream, error) {
	st, err := f.Stat()
	if err != nil {
		return nil, openError(path, err)
	}
	if st.Size() == 0 {
		return nil, &UnreadableError{Path: path, Reason: "it is empty (0 bytes)", Hint: hintRecordAgain}
	}
	head := make([]byte, 4096)
	n, err := f.ReadAt(head, 0)
	if err != nil && err != io.EOF {
		return nil, openError(path, err)
	}
	head = head[:n]
	if !IsWAV(head) {
		s, err := openOther(ctx, path, head)
		if err == nil {
			f.Close()
		}
		return s, err
	}
	lay, err := walk(f, st.Size())
	if err != nil {
		var u *UnreadableError
		if errors.As(err, &u) && u.Hint == hintConvert {
			u.Hint = "convert it: " + convertCommand(path)
		}
		return nil, atPath(path, err)
	}
	s := newStream(ctx, path, lay, io.NewSectionReader(f, lay.offset, lay.length))
	s.left = lay.length / int64(lay.frameBytes())
	s.closer = f.Close
	return s, nil
}

func newStream(ctx context.Context, path string, lay *layout, src io.Reader) *Stream {
	s := &Stream{ctx: ctx, path: path, lay: lay, src: src, left: -1, problems: lay.problems}
	s.format = Format{
		SampleRate: lay.rate, Channels: lay.channels, Bits: lay.bits,
		Float: lay.enc == f32 || lay.enc == f64,
	}
	kind := "PCM"
	if s.format.Float {
		kind = "float"
	}
	s.format.Name = fmt.Sprintf("WAV, %d-bit %s", lay.bits, kind)
	fb := lay.frameBytes()
	s.buf = make([]byte, blockBytes/fb*fb)
	return s
}

// Format says what the recording is.
func (s *Stream) Format() Format { return s.format }

// Announced is how many frames the recording has, as far as its header tells
// and the file's bytes bear it out; -1 when that is not known.
func (s *Stream) Announced() int64 {
	if s.left < 0 {
		return -1
	}
	return s.left + s.read
}

// Problems are those of the container, complete once Read has returned io.EOF.
func (s *Stream) Problems() []Problem { return append([]Problem(nil), s.problems...) }

// Read fills dst with interleaved samples, full scale being 1, and returns how
// many whole frames it read: as many as fit into dst, fewer only at the end.
// At the end it returns 0 and io.EOF. len(dst) must be at least the number of
// channels.
func (s *Stream) Read(dst []float64) (frames int, err error) {
	ch := s.format.Channels
	if len(dst) < ch {
		return 0, fmt.Errorf("reading %q: room for %d samples but a frame has %d", s.path, len(dst), ch)
	}
	return s.each(len(dst)/ch, func(from, n int, src []byte) {
		s.bad += decode(dst[from*ch:(from+n)*ch], src, s.lay.enc)
	})
}

// each hands the next frames as they are stored to take, piece by piece: n frames
// from frame number from on of want. It returns how many there were, fewer than
// want only at the end; at the end 0 and io.EOF.
func (s *Stream) each(want int, take func(from, n int, src []byte)) (frames int, err error) {
	if s.pending == nil && s.ctx.Err() != nil {
		s.pending = s.ioError(s.ctx.Err())
	}
	if s.pending != nil {
		return 0, s.pending
	}
	fb := s.lay.frameBytes()
	for frames < want {
		if len(s.rest) == 0 {
			if s.done {
				break
			}
			if s.pending = s.fill(); s.pending != nil {
				return 0, s.pending
			}
			continue
		}
		n := min(want-frames, len(s.rest)/fb)
		take(frames, n, s.rest[:n*fb])
		s.rest = s.rest[n*fb:]
		frames += n
	}
	if frames == 0 {
		s.pending = s.end()
		return 0, s.pending
	}
	return frames, nil
}

// fill reads the next frames into rest, which is empty, or finds that there are
// none.
func (s *Stream) fill() error {
	if s.ctx.Err() != nil {
		return s.ioError(s.ctx.Err())
	}
	fb := s.lay.frameBytes()
	n := len(s.buf) / fb
	if s.left >= 0 {
		n = int(min(int64(n), s.left))
	}
	if n == 0 {
		s.done = true
		return nil
	}
	got, err := io.ReadFull(s.src, s.buf[:n*fb])
	k := got / fb
	s.rest = s.buf[:k*fb]
	s.read += int64(k)
	if s.left >= 0 {
		s.left -= int64(k)
	}
	switch {
	case err == io.EOF || err == io.ErrUnexpectedEOF:
		if s.left > 0 {
			s.note("cut-short", "the file became shorter while it was read; %s of it were", seconds(s.read, s.format.SampleRate))
			s.left = 0
		}
		s.done = true
	case err != nil:
		return s.ioError(err)
	}
	return nil
}

// end closes the account and returns io.EOF, or what went wrong.
func (s *Stream) end() error {
	if s.bad > 0 {
		s.note("not-finite", "%d samples are not numbers and were taken as silence; export the recording again", s.bad)
	}
	if s.finish != nil {
		if err := s.finish(s); err != nil {
			return err
		}
	}
	return io.EOF
}

func (s *Stream) note(code, format string, args ...any) {
	s.problems = append(s.problems, Problem{Code: code, Text: fmt.Sprintf(format, args...)})
}

func (s *Stream) ioError(err error) error {
	if c := s.ctx.Err(); c != nil {
		return fmt.Errorf("reading %q was stopped: %w", s.path, c)
	}
	return openError(s.path, err)
}

// Close lets go of the file, and of ffmpeg when it was used.
func (s *Stream) Close() error {
	s.pending = fmt.Errorf("reading %q: it is closed", s.path)
	if s.closer == nil {
		return nil
	}
	c := s.closer
	s.closer = nil
	return c()
}

// oneLine makes any text one line.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
