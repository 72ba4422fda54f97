package audio

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// layout is what the guard found in a WAV file: where the samples stand and
// how each is stored. Sources: Multimedia Programming Interface and Data
// Specifications 1.0 (IBM and Microsoft, 1991) for RIFF/WAVE; EBU Tech 3306
// and ITU-R BS.2088 for RF64 and BW64; [MS-RDPEAI] 2.2.2.3.1 for
// WAVE_FORMAT_EXTENSIBLE.
type layout struct {
	enc      encoding
	bits     int // meaningful bits of a sample
	channels int
	rate     int // Hz
	plain    bool
	// offset and length of the sample data in bytes, within the file; open
	// means that the header leaves the length open, and that what follows
	// offset is all sound.
	offset, length int64
	open           bool
	problems       []Problem
}

// frameBytes is the size of one sample of every channel.
func (l *layout) frameBytes() int { return l.enc.bytes() * l.channels }

// Limits of what is taken for a recording.
const (
	minRate, maxRate = 8000, 192000
	maxChannels      = 8
	// maxChunks bounds the walk through a hostile file of many empty chunks.
	maxChunks = 4096
	// openSize: recorders that write a stream put a size at or above this into
	// the header (0x7FFFF000, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF are all seen).
	openSize = 0x7FFFF000
)

// WAVE format tags (mmreg.h, RFC 2361).
const (
	tagPCM        = 0x0001
	tagFloat      = 0x0003
	tagExtensible = 0xFFFE
)

var tagNames = map[uint16]string{
	0x0002: "Microsoft ADPCM", 0x0006: "A-law", 0x0007: "mu-law", 0x0010: "OKI ADPCM",
	0x0011: "IMA ADPCM", 0x0031: "GSM 6.10", 0x0040: "G.721 ADPCM", 0x0050: "MPEG layer 1 or 2",
	0x0055: "MP3", 0x00FF: "AAC", 0x0160: "WMA 1", 0x0161: "WMA 2", 0x0162: "WMA Pro",
	0x0163: "WMA lossless", 0x2000: "AC-3", 0x674F: "Ogg Vorbis", 0x6771: "Ogg Vorbis",
	0xA106: "AAC", 0xF1AC: "FLAC",
}

// guidTail is what every SubFormat GUID that stands for a format tag ends in
// (0000-0010-8000-00AA00389B71).
var guidTail = [12]byte{0x00, 0x00, 0x10, 0x00, 0x80, 0x00, 0x00, 0xAA, 0x00, 0x38, 0x9B, 0x71}

// knownChunks tells a chunk header from bytes that are none, where a recorder
// left out the pad byte or the length.
var knownChunks = map[string]bool{
	"fmt ": true, "data": true, "LIST": true, "list": true, "fact": true, "bext": true, "iXML": true,
	"axml": true, "JUNK": true, "junk": true, "PAD ": true, "FLLR": true, "cue ": true, "smpl": true,
	"inst": true, "PEAK": true, "peak": true, "levl": true, "id3 ": true, "ID3 ": true, "cart": true,
	"chna": true, "plst": true, "ds64": true, "r64m": true, "_PMX": true, "acid": true, "strc": true,
	"DISP": true, "qlty": true, "mext": true, "link": true, "umid": true, "minf": true, "elm1": true,
	"regn": true, "AFAn": true, "Fake": true, "afsp": true, "wavl": true, "slnt": true, "SAUR": true,
}

const hintRecordAgain = "record or copy it again"

// IsWAV tells whether a file begins as the WAV files do that are read here; head
// is its first 12 bytes or more.
func IsWAV(head []byte) bool {
	if len(head) < 12 || string(head[8:12]) != "WAVE" {
		return false
	}
	switch string(head[:4]) {
	case "RIFF", "RF64", "BW64":
		return true
	}
	return false
}

// walk goes through the chunks of a WAV file of size bytes and finds the
// format and the samples. It reads headers only, never allocates by what they
// say, and believes a size only as far as there are bytes.
func walk(r io.ReaderAt, size int64) (*layout, error) {
	var head [12]byte
	if _, err := r.ReadAt(head[:], 0); err != nil || !IsWAV(head[:]) {
		return nil, unreadable(hintRecordAgain, "it has no WAV header")
	}
	w := walker{r: r, size: size, rf64: string(head[:4]) != "RIFF", ds64Data: -1}
	if err := w.chunks(); err != nil {
		return nil, err
	}
	return w.layout()
}

type walker struct {
	r    io.ReaderAt
	size int64
	rf64 bool
	// ds64Data is the 64-bit length of the data chunk; -1 when not given.
	ds64Data int64

	fmt     [40]byte // the first bytes of the fmt chunk
	fmtSize int64    // -1 until found
	dataAt  int64    // -1 until found
	dataLen int64
	open    bool
	cut     int64 // bytes announced but not there

	problems []Problem
}

func (w *walker) note(code, format string, args ...any) {
	w.problems = append(w.problems, Problem{Code: code, Text: fmt.Sprintf(format, args...)})
}

// header reads a chunk header; ok is false where there are no 8 bytes left.
func (w *walker) header(at int64) (id string, size int64, ok bool) {
	var b [8]byte
	if at < 0 || at+8 > w.size {
		return "", 0, false
	}
	if _, err := w.r.ReadAt(b[:], at); err != nil {
		return "", 0, false
	}
	return string(b[:4]), int64(binary.LittleEndian.Uint32(b[4:])), true
}

// known tells whether a chunk that we know by name begins here.
func (w *walker) known(at int64) bool {
	id, _, ok := w.header(at)
	return ok && knownChunks[id]
}

func (w *walker) chunks() error {
	w.fmtSize, w.dataAt = -1, -1
	at := int64(12)
	for n := 0; ; n++ {
		id, size, ok := w.header(at)
		if !ok {
			break
		}
		if n == maxChunks {
			if w.fmtSize >= 0 && w.dataAt >= 0 {
				break
			}
			return unreadable(hintRecordAgain, "no sound within its first %d chunks", maxChunks)
		}
		body := at + 8
		left := w.size - body
		switch id {
		case "ds64":
			// riff size, data size, sample count (64 bits each), table length
			var b [16]byte
			if size >= 28 && left >= 16 && w.rf64 {
				if _, err := w.r.ReadAt(b[:], body); err == nil {
					if v := binary.LittleEndian.Uint64(b[8:]); v <= math.MaxInt64 {
						w.ds64Data = int64(v)
					}
				}
			}
		case "fmt ":
			if w.fmtSize < 0 {
				n := min(size, left, int64(len(w.fmt)))
				if _, err := w.r.ReadAt(w.fmt[:n], body); err != nil && err != io.EOF {
					return unreadable(hintRecordAgain, "%s", oneLine(err.Error()))
				}
				w.fmtSize = n
			}
		case "data":
			if w.dataAt >= 0 {
				w.note("second-data", "the file holds more than one block of sound; only the first is measured")
				break
			}
			size = w.data(body, size)
		}
		if size > left {
			break // nothing can follow
		}
		next := body + size
		if size%2 == 1 {
			// Chunks are padded to even sizes. Some writers forget it.
			if !w.known(next+1) && w.known(next) {
				w.note("unpadded", "a chunk of odd size has no pad byte; read all the same")
			} else {
				next++
			}
		}
		at = next
	}
	if w.fmtSize < 0 {
		return unreadable(hintRecordAgain, "it is a WAV file that does not say its format (no fmt chunk)")
	}
	if w.dataAt < 0 {
		return unreadable(hintRecordAgain, "it is a WAV file without sound (no data chunk within its %d bytes)", w.size)
	}
	return nil
}

// data settles where the samples are, given the data chunk's body and announced
// size, and returns the size that the walk goes on with.
func (w *walker) data(body, size int64) int64 {
	left := w.size - body
	w.dataAt = body
	announced := size
	if w.rf64 && size == 0xFFFFFFFF && w.ds64Data >= 0 {
		announced = w.ds64Data
	}
	switch {
	case announced <= left && announced > 0:
		w.dataLen = announced
		if rest := left - announced - announced%2; rest > 4096 && !w.known(body+announced) && !w.known(body+announced+announced%2) {
			w.note("unannounced-data", "%d bytes follow the sound that the header announces; they are left out", rest)
		}
	case announced == 0 && (left == 0 || w.known(body)):
		w.dataLen = 0
	case announced == 0, size >= openSize && announced == size:
		w.dataLen, w.open = left, true
		w.note("open-length", "the recorder left the length in the header open (%d); the file is read to its end", announced)
	default:
		w.dataLen, w.cut = left, announced-left
	}
	return w.dataLen
}

// layout reads the fmt chunk and puts everything together.
func (w *walker) layout() (*layout, error) {
	if w.fmtSize < 16 {
		return nil, unreadable(hintRecordAgain, "its format description is too short (%d of 16 bytes)", w.fmtSize)
	}
	u16 := func(at int) int { return int(binary.LittleEndian.Uint16(w.fmt[at:])) }
	tag := uint16(u16(0))
	l := &layout{
		channels: u16(2), rate: 0, bits: u16(14), plain: true,
		offset: w.dataAt, length: w.dataLen, open: w.open,
	}
	rate := binary.LittleEndian.Uint32(w.fmt[4:])
	align := u16(12)
	bits := l.bits
	if tag == tagExtensible {
		l.plain = false
		if w.fmtSize < 40 {
			return nil, unreadable(hintRecordAgain, "its extended format description is too short (%d of 40 bytes)", w.fmtSize)
		}
		if [12]byte(w.fmt[28:40]) != guidTail || binary.LittleEndian.Uint32(w.fmt[24:]) > 0xFFFF {
			return nil, unreadable(hintConvert, "its sound is stored in an unknown codec (GUID %X)", w.fmt[24:40])
		}
		tag = uint16(u16(24))
		if v := u16(18); v > 0 && v <= bits {
			l.bits = v
		}
	}
	if tag != tagPCM && tag != tagFloat {
		name := tagNames[tag]
		if name == "" {
			name = "an unknown codec"
		}
		return nil, unreadable(hintConvert, "its sound is stored as %s (WAV format tag 0x%04X), which is not plain samples", name, tag)
	}
	if l.channels < 1 || l.channels > maxChannels {
		return nil, unreadable("record in mono or stereo", "it has %d channels where 1 to %d can be", l.channels, maxChannels)
	}
	if rate < minRate || rate > maxRate {
		return nil, unreadable("record at 44.1 or 48 kHz", "its sample rate is %d Hz where %d to %d can be", rate, minRate, maxRate)
	}
	l.rate = int(rate)

	// The container is what the block size says when that makes sense (20 bits
	// stand in 3 bytes, 24 may stand in 4), else what the bits need.
	width := (bits + 7) / 8
	if align%l.channels == 0 && align/l.channels >= width && align/l.channels <= 8 {
		width = align / l.channels
	} else {
		w.note("block-size", "the header's block size of %d bytes is wrong; taken as %d", align, width*l.channels)
	}
	var ok bool
	if l.enc, ok = encodingOf(tag == tagFloat, bits, width); !ok {
		kind := "PCM"
		if tag == tagFloat {
			kind = "float"
		}
		return nil, unreadable(hintConvert, "its samples are %d-bit %s in %d bytes, which is not a form in use", bits, kind, width)
	}
	if l.enc == f32 || l.enc == f64 {
		l.bits = 8 * l.enc.bytes()
	}

	fb := int64(l.frameBytes())
	if w.cut > 0 {
		w.note("cut-short", "the recording is cut short: %s of %s that the header announces are there",
			seconds(w.dataLen/fb, l.rate), seconds((w.dataLen+w.cut)/fb, l.rate))
	} else if rest := l.length % fb; rest != 0 {
		w.note("odd-data", "the sound ends within a sample; the last %d bytes are left out", rest)
	}
	l.length -= l.length % fb
	l.problems = w.problems
	return l, nil
}

// seconds writes a count of frames as a time.
func seconds(frames int64, rate int) string {
	return fmt.Sprintf("%.1f s", float64(frames)/float64(rate))
}
