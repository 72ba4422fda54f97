package diagnose

import (
	"math"
	"strings"
	"testing"
)

const wholeMachine = `# shelf 7
name = "shelf 7"
number = 7
colour = "sea green"
pitch = 12
action = "half"
teeth = 14
carriage_mass = "1200 g"
pull_start = "650 g"
pull_end = "5.4 N"
last_done = "2026-10-03: segment cleaned"
`

func TestReadMachine(t *testing.T) {
	m, err := ReadMachine(strings.NewReader(wholeMachine))
	if err != nil {
		t.Fatal(err)
	}
	if m.Name != "shelf 7" || m.Number != "7" || m.Colour != "sea green" || m.Pitch != 12 || m.Action != HalfSpace ||
		m.Teeth != 14 || m.LastDone != "2026-10-03: segment cleaned" {
		t.Errorf("%+v", m)
	}
	// 0.65 kg weigh 0.65 x 9.80665 N.
	if !near(float64(m.MassKG), 1.2, 1e-12) || !near(float64(m.PullStartN), 6.3743225, 1e-9) || !near(float64(m.PullEndN), 5.4, 1e-12) {
		t.Errorf("%g kg, %g N, %g N", m.MassKG, m.PullStartN, m.PullEndN)
	}
	m, err = ReadMachine(strings.NewReader(""))
	if err != nil || m.MassKG.Known() || m.PullStartN.Known() || m.Teeth != 0 || m.Action != "" {
		t.Errorf("an empty file: %+v, %v", m, err)
	}
}

// Each wrong file has one clear line that says what and what to write.
func TestReadMachineRefuses(t *testing.T) {
	for text, want := range map[string]string{
		`mass = 1`:                                  `the key "mass" is not known; known are action, carriage_mass`,
		`carriage_mass = 1.2`:                       `carriage_mass needs a number with its unit in quotes, such as "1.2 kg"`,
		`carriage_mass = "1.2"`:                     `carriage_mass has the unit ""; write one of g, kg, lb, oz`,
		`carriage_mass = "1.2 N"`:                   `carriage_mass has the unit "N"; write one of g, kg, lb, oz`,
		`carriage_mass = "1,2 kg"`:                  `carriage_mass has no number before its unit`,
		`carriage_mass = "1200 kg"`:                 `no manual typewriter has`,
		`carriage_mass = "-1 kg"`:                   `no manual typewriter has`,
		`carriage_mass = "NaN kg"`:                  `carriage_mass has no number before its unit`,
		`pull_start = "60 kg"`:                      `no manual typewriter has`,
		`pull_end = true`:                           `pull_end needs a number with its unit`,
		`pitch = 11`:                                `pitch must be 10 (pica) or 12 (elite)`,
		`pitch = "10"`:                              `pitch must be 10 (pica) or 12 (elite)`,
		`action = "speed"`:                          `action must be "full", "half" or "down"`,
		`teeth = 3`:                                 `teeth must be a whole number from 5 to 60`,
		`teeth = 14.5`:                              `teeth must be a whole number`,
		`name = 1.5`:                                `name must be words in quotes`,
		"name = \"a\\u0007b\"":                      `name must be one line without control characters`,
		`name = "` + strings.Repeat("x", 400) + `"`: `name is longer than 300 letters`,
		"name = \"x\"\nname = \"y\"":                `line 2: `,
		"pitch = 10\nteeth =":                       `line 2: `,
		"[wheel]\nteeth = 14":                       `the key "wheel" is not known`,
		"pull_start = \"5 N\"\npull_end = \"7 N\"":  `were they exchanged?`,
		strings.Repeat("# a long comment\n", 5000):  `it is longer than 64 kB`,
		"name = \"\xff\"":                           ``,
	} {
		m, err := ReadMachine(strings.NewReader(text))
		if err == nil {
			t.Errorf("%.40q was read: %+v", text, m)
			continue
		}
		if m != nil {
			t.Errorf("%.40q: a machine beside an error", text)
		}
		if s := err.Error(); !strings.Contains(s, want) || strings.ContainsAny(s, "\n\r") || strings.HasSuffix(s, ".") {
			t.Errorf("%.40q: %q, want one line with %q", text, s, want)
		}
	}
}

func FuzzReadMachine(f *testing.F) {
	f.Add(wholeMachine)
	f.Add("")
	f.Add("teeth = 14\n[x]\ny = [1, {z = 2}]")
	f.Add(`carriage_mass = "1e400 kg"`)
	f.Add("pull_start = \"\u0661 N\"")
	f.Fuzz(func(t *testing.T, text string) {
		m, err := ReadMachine(strings.NewReader(text))
		if err != nil {
			if m != nil || strings.ContainsAny(err.Error(), "\n\r") {
				t.Fatalf("%q: %v beside %q", text, m, err)
			}
			return
		}
		within := func(what string, n Number, least, most float64) {
			if n.Known() && (float64(n) < least || float64(n) > most) || math.IsInf(float64(n), 0) {
				t.Fatalf("%q: %s is %g", text, what, n)
			}
		}
		within("mass", m.MassKG, leastMass, mostMass)
		within("pull", m.PullStartN, leastPullN, mostPullN)
		within("pull", m.PullEndN, leastPullN, mostPullN)
		if m.Pitch != 0 && m.Pitch != 10 && m.Pitch != 12 || m.Teeth < 0 || m.Teeth > mostTeethSaid {
			t.Fatalf("%q: %+v", text, m)
		}
	})
}
