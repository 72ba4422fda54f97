package audio

import (
	"context"
	"encoding/binary"
	"io"
	"os"
	"os/exec"
	"strings"
	"time"
)

// How much of a file is looked at for its time tag.
const (
	tagChunks  = 256
	tagBytes   = 1 << 16
	tagTimeout = 10 * time.Second
)

// TimeTag is when the recorder says that the recording at path was made, as local
// time: the origination date of a broadcast WAV (chunk "bext": EBU Tech 3285), the
// creation date of a WAV's information list (ICRD: Multimedia Programming Interface
// and Data Specifications 1.0, 1991), or, of other files, the creation time that
// ffprobe reads, where that is installed. ok is false where there is none that a
// recording could have.
func TimeTag(ctx context.Context, path string) (t time.Time, ok bool) {
	f, err := os.Open(path)
	if err != nil {
		return t, false
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || !info.Mode().IsRegular() {
		return t, false
	}
	head := make([]byte, 12)
	if _, err := io.ReadFull(f, head); err != nil {
		return t, false
	}
	if IsWAV(head) {
		return wavTag(f, info.Size())
	}
	return probedTag(ctx, path)
}

// wavTag walks the chunks of a WAV.
func wavTag(r io.ReaderAt, size int64) (t time.Time, ok bool) {
	w := walker{r: r, size: size}
	at := int64(12)
	for range tagChunks {
		id, n, ok := w.header(at)
		if !ok {
			break
		}
		if id == "bext" || id == "LIST" {
			body := make([]byte, max(0, min(n, tagBytes, size-at-8)))
			if _, err := r.ReadAt(body, at+8); err != nil && err != io.EOF {
				break
			}
			if id == "bext" {
				if t, ok := bextTag(body); ok {
					return t, true
				}
			} else if t, ok := listTag(body); ok {
				return t, true
			}
		}
		at += 8 + n + n&1
	}
	return t, false
}

// bextTag reads OriginationDate (yyyy-mm-dd) and OriginationTime (hh-mm-ss), at
// offset 320 behind description, originator and reference. What parts the digits
// may be any sign.
func bextTag(b []byte) (t time.Time, ok bool) {
	if len(b) < 338 {
		return t, false
	}
	date, clock := onlyDigits(b[320:330]), onlyDigits(b[330:338])
	if len(clock) != 6 {
		clock = "000000"
	}
	return tagTime("20060102150405", date+clock)
}

// listTag reads ICRD of an INFO list.
func listTag(b []byte) (t time.Time, ok bool) {
	if len(b) < 4 || string(b[:4]) != "INFO" {
		return t, false
	}
	for b = b[4:]; len(b) >= 8; {
		id, n := string(b[:4]), int64(binary.LittleEndian.Uint32(b[4:]))
		b = b[8:]
		n = min(n, int64(len(b)))
		if id == "ICRD" {
			return dateTag(string(b[:n]))
		}
		b = b[min(n+n&1, int64(len(b))):]
	}
	return t, false
}

// dateTag reads a date with or without a time of day.
func dateTag(s string) (t time.Time, ok bool) {
	s = strings.TrimSpace(strings.TrimRight(s, "\x00"))
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02 15:04:05", time.DateOnly} {
		if t, ok := tagTime(layout, s); ok {
			return t, true
		}
	}
	return t, false
}

// tagTime is a time that a recording can have been made at: recorders whose clock
// was never set write 1904, 1970 or 1980.
func tagTime(layout, s string) (t time.Time, ok bool) {
	t, err := time.ParseInLocation(layout, s, time.Local)
	if err != nil || t.Year() < 1990 || t.Year() > 2200 {
		return time.Time{}, false
	}
	return t.Local(), true
}

func onlyDigits(b []byte) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, string(b))
}

// probedTag asks ffprobe.
func probedTag(ctx context.Context, path string) (t time.Time, ok bool) {
	program, err := exec.LookPath("ffprobe")
	if err != nil {
		return t, false
	}
	ctx, stop := context.WithTimeout(ctx, tagTimeout)
	defer stop()
	out, err := exec.CommandContext(ctx, program, "-v", "error", "-protocol_whitelist", "file",
		"-show_entries", "format_tags=creation_time,date", "-of", "default=noprint_wrappers=1:nokey=1", "file:"+path).Output()
	if err != nil {
		return t, false
	}
	for line := range strings.Lines(string(out)) {
		if t, ok := dateTag(line); ok {
			return t, true
		}
	}
	return t, false
}
