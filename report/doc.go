// Package report writes a measured take for people and for programs.
//
// What comes in is a [diagnose.Take] (times in seconds, intervals in
// milliseconds) and, for the picture, a stretch of its sound. What goes out:
// the summary for the terminal ([Text]), one JSON object ([JSON]), a table with
// one row a stroke ([CSV]), a label track for sound editors ([Labels]) and the
// timing picture for a repair note ([PNG]). [WriteFile] puts any of them into a
// file whole or not at all.
//
// Nothing is measured here. A thing that the take does not hold is null in the
// JSON, an empty cell in the table, absent from the label track and "cannot
// tell" in words.
package report
