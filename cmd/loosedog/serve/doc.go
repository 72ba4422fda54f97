// Package serve shows takes in a browser on the owner's own computer: it serves
// one page that takes recordings in, has them measured, shows and plays them,
// and hands the outputs out.
//
// In comes a folder and the functions that measure; out go pages over HTTP. The
// folder is the record: a take is NAME.wav, what was measured of it NAME.json
// beside it, as plain files that are written whole or not at all. Nothing else
// is kept, and what lies there that is not ours is left alone.
//
// What protects the owner:
//
//   - Every request must name this server in its Host header, and one that
//     changes anything must come from its own page (Origin): another web site
//     open in the same browser can do neither.
//   - The page may load and run only what this server sends it
//     (Content-Security-Policy), and text from outside is only ever text.
//   - A name from outside is one plain file in the folder: no path, no link,
//     nothing hidden.
//   - Bodies, durations, and how many uploads and measurements run at once are
//     bounded; a sender that dawdles is cut off.
package serve
