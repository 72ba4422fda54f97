package record

import (
	"regexp"
	"strconv"
	"time"
)

// Where the date of a take comes from, the first that there is.
const (
	FromLog      = "log"       // an entry "take NAME"
	FromTag      = "time tag"  // the recorder wrote it into the file
	FromName     = "name"      // the file's name
	FromModified = "file time" // when the file was last changed
)

// tagLayout is how a result keeps a time tag.
const tagLayout = "2006-01-02T15:04:05"

// setDate dates a take.
func (t *Take) setDate(l *Log) {
	name := oneLine(t.File) // as a log can hold it
	for _, e := range l.Entries {
		if e.Take != "" && e.Take == name {
			t.Date, t.DateFrom = e.Date, FromLog
			return
		}
	}
	if t.Kept != nil {
		if at, err := time.ParseInLocation(tagLayout, t.Kept.Tagged, time.Local); err == nil {
			t.Date, t.DateFrom = at, FromTag
			return
		}
	}
	if at, ok := dateInName(t.File); ok {
		t.Date, t.DateFrom = at, FromName
		return
	}
	t.Date, t.DateFrom = t.Modified.Local(), FromModified
}

// named finds 2026-03-14, 20260314 or 2026_03_14 in a name, alone or with a time of
// day behind it, 09-26 or 0926 (with seconds or not).
var named = regexp.MustCompile(`(?:^|\D)((?:19|20)\d\d)([-_. ]?)(\d\d)([-_. ]?)(\d\d)(?:[-_ T.]{1,3}(\d\d)[-_.:h ]?(\d\d)(?:[-_.: ]?\d\d)?)?(?:\D|$)`)

// dateInName is the date in a file's name.
func dateInName(name string) (t time.Time, ok bool) {
	for _, m := range named.FindAllStringSubmatch(name, -1) {
		if m[2] != m[4] {
			continue
		}
		n := func(i int) int { v, _ := strconv.Atoi(m[i]); return v }
		hour, minute := n(6), n(7)
		if hour > 23 || minute > 59 {
			hour, minute = 0, 0
		}
		t := time.Date(n(1), time.Month(n(3)), n(5), hour, minute, 0, 0, time.Local)
		if t.Year() >= 1990 && t.Month() == time.Month(n(3)) && t.Day() == n(5) {
			return t, true
		}
	}
	return t, false
}
