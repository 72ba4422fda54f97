// Package passage knows the text that is typed for a test: it prints the test
// sheet, beats time for it, and tells which character of a text each stroke of a
// take stands for.
//
// [Sheet] lays the project's own text out to a width; [Sheet.Plan] says when its
// strokes are due at a chosen rate and [Clicks] makes that audible. [Parse] reads
// any text. [Align] lays strokes along it: in go each stroke's kind (key or space
// bar), its time in seconds and its line; out comes, stroke by stroke, the place
// in the text, and how well the whole fits.
//
// # How strokes and text are laid together
//
// Sound does not tell which letter was struck. What it tells is where spaces and
// line breaks stand, that is, how long the words are, and how long each stroke
// took. The text is a row of letters, spaces and line breaks, the take a row of
// typed strokes, space-bar strokes and carriage returns, and a hidden Markov
// model says how the second comes from the first: a character is typed, left out,
// or followed by a stroke too many; the ear takes a space for a letter or the
// other way round; a line is broken at a space, or two are joined; and now and
// then the typist leaves the text altogether and comes back at the start of a
// word, most often of a line (a line missed, or typed twice, or something that is
// not in the text). How often characters are left out, heard as something else or
// followed by a stroke too many is learnt from the take (Baum-Welch), and so is how
// long a stroke takes after one on the same key, finger or hand, on the other hand or
// by the space bar. Fixed are how often a line is broken right after a space that was
// typed or a space comes right before the return, how often the text is left and found
// again, and how often a letter and a space change places. For each stroke the text's
// place with the greatest probability, summed over all ways to lay the two together,
// is taken, so that the places rise along the text. Durbin, Eddy, Krogh and Mitchison
// (1998), "Biological Sequence Analysis", chapters 3 and 4, describe such models.
//
// Whether the text fits is judged against texts that are not this one: its own
// words in another order, laid along the same take in the same way, but for the
// rhythm, which would speak for them as well. A text that does not stand out from them
// is refused.
package passage
