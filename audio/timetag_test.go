package audio

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// tagged is a WAV of no samples with one chunk before the data.
func tagged(id string, body []byte) []byte {
	le := binary.LittleEndian
	b := append([]byte("RIFF\x00\x00\x00\x00WAVE"), id...)
	b = le.AppendUint32(b, uint32(len(body)))
	b = append(b, body...)
	if len(body)%2 == 1 {
		b = append(b, 0)
	}
	b = append(b, "data\x00\x00\x00\x00"...)
	le.PutUint32(b[4:], uint32(len(b)-8))
	return b
}

// bext is a chunk of that origination date and time (offsets: EBU Tech 3285).
func bext(date, clock string) []byte {
	b := make([]byte, 602)
	copy(b[320:], date)
	copy(b[330:], clock)
	return b
}

func TestTimeTag(t *testing.T) {
	local := func(s string) time.Time {
		at, err := time.ParseInLocation("2006-01-02 15:04:05", s, time.Local)
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	for _, c := range []struct {
		name string
		file []byte
		want time.Time
	}{
		{"bext", tagged("bext", bext("2026-03-14", "09-26-53")), local("2026-03-14 09:26:53")},
		{"bext, other signs", tagged("bext", bext("2026:03:14", "09:26:53")), local("2026-03-14 09:26:53")},
		{"bext without a time", tagged("bext", bext("2026-03-14", "")), local("2026-03-14 00:00:00")},
		{"information list", tagged("LIST", []byte("INFOISFT\x03\x00\x00\x00ab\x00\x00ICRD\x0a\x00\x00\x002026-03-14")), local("2026-03-14 00:00:00")},
		{"no date", tagged("bext", bext("", "")), time.Time{}},
		{"no such day", tagged("bext", bext("2026-02-30", "")), time.Time{}},
		{"a clock that was never set", tagged("bext", bext("1904-01-01", "")), time.Time{}},
		{"short chunk", tagged("bext", bext("2026-03-14", "")[:325]), time.Time{}},
		{"list that lies", tagged("LIST", []byte("INFOICRD\xff\xff\xff\xff2026")), time.Time{}},
		{"no chunk", []byte("RIFF\x04\x00\x00\x00WAVE"), time.Time{}},
		{"cut", []byte("RIFF\x04"), time.Time{}},
		{"chunk beyond the end", tagged("bext", bext("2026-03-14", ""))[:30], time.Time{}},
	} {
		path := filepath.Join(t.TempDir(), "take.wav")
		if err := os.WriteFile(path, c.file, 0o666); err != nil {
			t.Fatal(err)
		}
		got, ok := TimeTag(t.Context(), path)
		if ok != !c.want.IsZero() || !got.Equal(c.want) {
			t.Errorf("%s: %v, %v, want %v", c.name, got, ok, c.want)
		}
	}
	if _, ok := TimeTag(t.Context(), t.TempDir()); ok {
		t.Error("a folder has a time tag")
	}
	if _, ok := TimeTag(t.Context(), "missing.wav"); ok {
		t.Error("a file that is not there has a time tag")
	}
}

func FuzzTimeTag(f *testing.F) {
	f.Add(tagged("bext", bext("2026-03-14", "09-26-53")))
	f.Add(tagged("LIST", []byte("INFOICRD\x0a\x00\x00\x002026-03-14")))
	f.Fuzz(func(t *testing.T, b []byte) {
		r := filepath.Join(t.TempDir(), "x.wav")
		if len(b) < 12 || !IsWAV(b[:12]) || os.WriteFile(r, b, 0o666) != nil {
			return
		}
		if at, ok := TimeTag(t.Context(), r); ok && (at.Year() < 1989 || at.Year() > 2201) {
			t.Fatalf("%v", at)
		}
	})
}
