package audio

import (
	"bytes"
	"context"
	"path/filepath"
	"slices"
	"strings"
)

// kind is a format that is not WAV, known by its first bytes.
type kind struct {
	name  string
	at    int
	magic string
}

// kinds in the order in which they are tried. Magic numbers as the formats'
// own specifications give them.
var kinds = []kind{
	{"m4a", 4, "ftyp"}, {"ogg", 0, "OggS"}, {"flac", 0, "fLaC"}, {"mp3", 0, "ID3"},
	{"caf", 0, "caff"}, {"amr", 0, "#!AMR"}, {"webm", 0, "\x1A\x45\xDF\xA3"},
	{"aiff", 0, "FORM"}, {"au", 0, ".snd"}, {"wavpack", 0, "wvPk"}, {"ape", 0, "MAC "},
	{"wma", 0, "\x30\x26\xB2\x75"}, {"w64", 0, "riff\x2E\x91\xCF\x11"}, {"rifx", 0, "RIFX"},
	{"avi", 8, "AVI "}, {"mov", 4, "moov"}, {"mov", 4, "mdat"}, {"mov", 4, "wide"},
}

// kindOf names the format of a file by its first bytes; "" when unknown.
func kindOf(head []byte) string {
	for _, k := range kinds {
		if len(head) >= k.at+len(k.magic) && string(head[k.at:k.at+len(k.magic)]) == k.magic {
			return k.name
		}
	}
	// A bare MPEG stream starts with eleven set bits; ADTS (AAC) has layer 0.
	if len(head) >= 2 && head[0] == 0xFF && head[1]&0xE0 == 0xE0 {
		if head[1]&0x06 == 0 {
			return "aac"
		}
		return "mp3"
	}
	return ""
}

// isText tells whether the first bytes of a file are writing.
func isText(head []byte) bool {
	if len(head) == 0 {
		return false
	}
	return bytes.IndexFunc(head, func(r rune) bool {
		return r < ' ' && r != '\n' && r != '\r' && r != '\t' && r != '\f'
	}) < 0 && bytes.IndexByte(head, 0x7F) < 0
}

// openOther opens what is not WAV.
func openOther(ctx context.Context, path string, head []byte) (*Stream, error) {
	name := kindOf(head)
	if name == "" {
		// ffmpeg is not asked about writing: some play lists are writing, and
		// they name other files.
		switch {
		case len(head) < 12 && IsWAV(append(slices.Clone(head), "RIFF\x00\x00\x00\x00WAVE"[len(head):]...)):
			return nil, &UnreadableError{Path: path, Reason: "it ends within its WAV header", Hint: hintRecordAgain}
		case isText(head):
			return nil, &UnreadableError{Path: path, Reason: "it is a text, not a recording", Hint: "name the file that the recorder wrote"}
		case strings.EqualFold(filepath.Ext(path), ".wav"):
			return nil, &UnreadableError{Path: path, Reason: "it is named .wav but has no WAV header", Hint: hintRecordAgain}
		}
	}
	return openFFmpeg(ctx, path, name)
}
