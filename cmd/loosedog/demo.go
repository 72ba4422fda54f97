package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"loosedog/audio"
	"loosedog/diagnose"
	"loosedog/diagnose/mechanism"
	"loosedog/report"
)

// demoFolder is where the demo goes unless told otherwise.
const demoFolder = "loosedog-demo"

// demoBits is the sample width of the demo's recording.
const demoBits = 24

func newDemo(u *ui) *cobra.Command {
	var out string
	var shelf bool
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Make a take of an imaginary machine and measure it",
		Long: `Demo simulates a typewriter of a harbour-town library's lending shelf and the
hand of its borrower, renders the take as a recording, measures it, and writes
the recording, the picture, the figures, the tables and the simulated truth into
a folder. At the end it prints what was simulated beside what was measured.

With --shelf it makes the whole lending shelf instead, twelve machines with a year
of takes for some of them, for 'loosedog shelf' and 'loosedog history'. What of it
is there already stays.`,
		Example: `  loosedog demo
  loosedog demo --out shelf
  loosedog demo --shelf`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("loosedog demo --out "+args[0], "demo takes no argument, but got %q", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error {
			if !shelf {
				return demo(cmd.Context(), u, out)
			}
			if !cmd.Flags().Changed("out") {
				out = demoShelfFolder
			}
			return demoShelf(cmd.Context(), u, out)
		},
	}
	cmd.Flags().StringVar(&out, "out", demoFolder, "write into this `FOLDER`, made when it is not there; with\n--shelf "+demoShelfFolder+" unless you name one")
	cmd.Flags().BoolVar(&shelf, "shelf", false, "make a whole shelf of machines")
	if err := cmd.MarkFlagDirname("out"); err != nil {
		panic(err) // there is no such flag: a slip, caught by any test
	}
	return cmd
}

func demo(ctx context.Context, u *ui, folder string) error {
	if folder == "" {
		return usagef("loosedog demo --out shelf", "the folder has no name")
	}
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return badFile(fmt.Errorf("cannot make the folder %q: %w; choose another", folder, bare(err)))
	}
	scene := mechanism.Demo()
	stem := filepath.Join(folder, fileName(scene.Name))
	take := stem + ".wav"
	if err := writable(take); err != nil {
		return badFile(err)
	}
	bar := newProgress(u.err, false)
	defer bar.wipe()
	tell := bar.phase("typing", 0.4)
	tell(0, 1)
	truth, samples, rate, err := scene.Record()
	if err != nil {
		return inside(err)
	}
	tell(1, 1)
	if err := stopped(ctx); err != nil {
		return err
	}
	if err := audio.WriteWAV(take, int(rate), demoBits, samples); err != nil {
		return inside(err)
	}
	if err := truth.WriteTruth(stem + ".truth.json"); err != nil {
		return inside(err)
	}
	h := new(heard)
	// From here on a demo that is stopped leaves its recording behind.
	stoppedHere := func(err error) error {
		if stopped(ctx) == nil {
			return err
		}
		return inside(fmt.Errorf("stopped; only the recording %q and its truth were written", take))
	}
	opt := diagnose.Options{Action: diagnose.Action(truth.Machine.Action), Text: scene.Text}
	if err := h.listen(ctx, bar, take, opt, true); err != nil {
		return stoppedHere(err)
	}
	if h.sound, err = readPageSound(ctx, take, h.quality.Mix, h.take); err != nil {
		return stoppedHere(failed(ctx, err))
	}
	bar.wipe()
	outs := outputs{
		{"the picture", stem + ".png", func(w io.Writer) error { return report.PNG(w, h.take, h.clip) }},
		{"the page", stem + ".html", func(w io.Writer) error { return report.HTML(w, h.take, h.sound) }},
		{"the note", stem + ".md", func(w io.Writer) error { return report.Markdown(w, h.take) }},
		{"the JSON", stem + ".json", func(w io.Writer) error { return report.JSON(w, h.take) }},
		{"the table", stem + ".csv", func(w io.Writer) error { return report.CSV(w, h.take) }},
		{"the label track", stem + ".labels.txt", func(w io.Writer) error { return report.Labels(w, h.take) }},
		{"the passage", stem + ".passage.txt", func(w io.Writer) error {
			_, err := io.WriteString(w, scene.Text+"\n")
			return err
		}},
		{"the figures", stem + ".txt", func(w io.Writer) error { return report.Text(w, h.take, report.TextOptions{}) }},
	}
	if err := outs.write(ctx, u); err != nil {
		return stoppedHere(err)
	}
	if err := h.compare(u.out, truth); err != nil {
		return inside(err)
	}
	fmt.Fprintf(u.out, "\nThe recording:   %s\n", take)
	fmt.Fprintf(u.out, "Its truth:       %s\n", stem+".truth.json")
	for _, o := range outs {
		fmt.Fprintf(u.out, "%-16s %s\n", strings.ToUpper(o.flag[:1])+o.flag[1:]+":", o.path)
	}
	if !h.take.Recording.Usable {
		return h.whyNot(take)
	}
	return nil
}

// fileName makes a name of a machine's: "shelf 7, sea green" gives
// "shelf-7-sea-green".
func fileName(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
	})
	return strings.Join(words, "-")
}

// compare prints what was simulated beside what was measured.
func (h *heard) compare(w io.Writer, truth *mechanism.Performance) error {
	sum := h.take.Summary
	var lead, latency, travel, ready []float64
	spaces, missed := 0, 0
	for i := range truth.Strokes {
		s := &truth.Strokes[i]
		lead = append(lead, s.Lead())
		latency = append(latency, s.Latency())
		travel = append(travel, s.Travel)
		ready = append(ready, s.Landing-s.Strike)
		if s.Space {
			spaces++
		}
		if s.Missed {
			missed++
		}
	}
	heardSpaces := 0
	for _, s := range h.take.Strokes {
		if s.Kind == diagnose.KindSpace {
			heardSpaces++
		}
	}
	fmt.Fprintf(w, "%s; %s\n\n", truth.Machine.Name, truth.Hand.Name)
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "\tsimulated\tmeasured\t\n")
	count := func(name string, a, b int) { fmt.Fprintf(t, "%s\t%d\t%d\t\n", name, a, b) }
	time := func(name string, a []float64, b diagnose.Figure) {
		fmt.Fprintf(t, "%s\t%s\t%s\t\n", name, unit(diagnose.Median(a), 1000, "ms"), unit(float64(b.Median), 1, "ms"))
	}
	count("strokes", len(truth.Strokes), sum.Strokes)
	count("of them space bar", spaces, heardSpaces)
	count("lines", len(truth.Lines), sum.Lines)
	time("lead, median", lead, sum.LeadMS)
	time("latency, median", latency, sum.LatencyMS)
	time("travel, median", travel, sum.TravelMS)
	time("ready time, median", ready, sum.ReadyMS)
	count("letters crowded", truth.Count(mechanism.Crowded), sum.Crowded)
	count("letters piled", truth.Count(mechanism.Piled), sum.Piled)
	count("missed spaces", missed, sum.MissedSpaces)
	return t.Flush()
}
