package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// docs are the guides whose commands are tried.
var docs = []string{"README.md", "DEVELOPERS.md"}

// readDoc reads a guide at the top of the project.
func readDoc(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestReadmeCommands runs every command line of the README's code blocks on the
// demo's take: what is promised there works as it stands.
func TestReadmeCommands(t *testing.T) {
	lines := regexp.MustCompile(`(?m)^    loosedog (.*)$`).FindAllStringSubmatch(readDoc(t, "README.md"), -1)
	if len(lines) < 3 {
		t.Fatalf("%d commands found, the README has more", len(lines))
	}
	take, err := demoTake()
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	if err := os.WriteFile("take.wav", take, 0o666); err != nil {
		t.Fatal(err)
	}
	for name, kind := range map[string]string{"before": "late", "after": "sound", "monday": "late", "tuesday": "late", "friday": "sound"} {
		measured, err := measuredTake(kind)
		if err == nil {
			err = errors.Join(os.WriteFile(name+".json", measured, 0o666), os.WriteFile(name+".wav", take, 0o666))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, path := range []string{"machines/shelf-7/2026-03-01.wav", "library/shelf-7/before.wav", "library/shelf-7/after.wav"} {
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o777), os.WriteFile(path, take, 0o666)); err != nil {
			t.Fatal(err)
		}
	}
	for _, l := range lines {
		args := words(l[1])
		if args[0] == "serve" {
			continue // it runs until it is stopped; TestServe and TestPage try it
		}
		if slices.Contains(args, "--shelf") {
			continue // it takes long; TestDemoShelf tries it
		}
		var out, errs bytes.Buffer
		if code := run(t.Context(), args, nil, &out, &errs); code != exitMeasured || errs.Len() > 0 {
			t.Errorf("loosedog %s: exit code %d, stderr %q", l[1], code, errs.String())
		}
		for i, a := range args {
			if strings.HasPrefix(a, "--") && a != "--before" && a != "--after" && i+1 < len(args) && filepath.Ext(args[i+1]) != "" {
				if info, err := os.Stat(args[i+1]); err != nil || info.Size() == 0 {
					t.Errorf("loosedog %s: wrote no %s", l[1], args[i+1])
				}
			}
		}
	}
}

// words splits a command line at blanks, but not within double quotes.
func words(line string) (args []string) {
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			args = append(args, part)
			continue
		}
		args = append(args, strings.Fields(part)...)
	}
	return args
}

// TestDocsNameWhatThereIs: every flag of measure is in the README, every flag
// there is one of the program's, and every make target named in the guides is
// in the Makefile.
func TestDocsNameWhatThereIs(t *testing.T) {
	readme := readDoc(t, "README.md")
	var help bytes.Buffer
	for _, topic := range []string{"measure", "passage", "compare", "serve", "shelf", "history", "log", "demo", "help"} {
		if code := run(t.Context(), []string{topic, "--help"}, nil, &help, &help); code != exitMeasured {
			t.Fatalf("%s --help: exit code %d", topic, code)
		}
	}
	flag := regexp.MustCompile(`--[a-z]+\b`)
	known := append(flag.FindAllString(help.String(), -1), "--help")
	for _, f := range flag.FindAllString(readme, -1) {
		if !slices.Contains(known, f) {
			t.Errorf("the README speaks of %s, which is no flag", f)
		}
	}
	for _, f := range []string{"--png", "--json", "--csv", "--labels", "--pitch", "--action", "--quiet", "--verbose"} {
		if !strings.Contains(readme, f) {
			t.Errorf("the README is silent about %s", f)
		}
		if !strings.Contains(help.String(), f) {
			t.Errorf("the help is silent about %s", f)
		}
	}
	makefile := readDoc(t, "Makefile")
	for _, doc := range docs {
		for _, m := range regexp.MustCompile("(?:^    |`)make ([a-z]+)").FindAllStringSubmatch(readDoc(t, doc), -1) {
			if !regexp.MustCompile(`(?m)^` + m[1] + `:`).MatchString(makefile) {
				t.Errorf("%s speaks of make %s, which is no target", doc, m[1])
			}
		}
	}
}
