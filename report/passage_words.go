package report

import (
	"fmt"

	sheets "loosedog/diagnose/passage"
)

// What the test sheet says beside the lines to type; text and PDF share it.

const sheetTitle = "Test sheet for a typewriter that crowds, piles or skips"

// recordIt are the steps of a recording that can be measured.
var recordIt = []string{
	"Set the machine on a firm table. Lay the phone on its top cover, a folded cloth under it, out of the carriage's way.",
	"Record as WAV if the recorder can, else at its best quality; noise reduction, voice enhancement and automatic gain off; the loudest strike below full level.",
	"Quiet room: no talk, music, tap or fan. Start the recorder, keep quiet for two seconds, type, keep quiet for two more.",
	"Set the margins so that a full line fits. Type the lines as they stand, a carriage return after each, in the way that is said over them.",
	"No correcting, no backspace: a slip stays as it is, go on with the next letter. No capitals: the shift has sounds of its own.",
	"Copy the file itself to the computer; messenger programs squeeze the clicks out of it.",
}

// countIt asks for the other half of the evidence.
const countIt = "Look at the typed page: how many letters stand on another, or clearly too close to the one before?"

// pitchName names a pitch as the trade does.
func pitchName(pitch int) string {
	if pitch == 12 {
		return "elite, 12 to the inch"
	}
	return "pica, 10 to the inch"
}

// sheetLine says how many letters a full line has.
func sheetLine(s *sheets.Sheet) string {
	return fmt.Sprintf("%d lines of at most %d letters, %s", len(s.Lines()), s.Width, pitchName(s.Pitch))
}

// measureIt is what to run in the end.
func measureIt(s *sheets.Sheet) string {
	pitch := ""
	if s.Pitch != 10 {
		pitch = fmt.Sprintf(" --pitch %d", s.Pitch)
	}
	return "loosedog measure take.wav --text passage.txt --page-count N" + pitch
}

// linesIt is how to get the lines alone.
func linesIt(s *sheets.Sheet) string {
	options := ""
	if s.Width != sheets.UsualWidth {
		options = fmt.Sprintf(" --width %d", s.Width)
	}
	return "loosedog passage" + options + " --lines passage.txt"
}

// notes are what the owner fills in.
var notes = []string{"machine (shelf, colour)", "typed by", "date", "last adjusted", "letters counted"}
