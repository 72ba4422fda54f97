package main

import "loosedog/diagnose"

// told is what measure and compare are told of the machine and the text, by flags
// of the same names; each command has its own words of help for them.
type told struct {
	pitch                 int
	action, text, machine string
	// said tells whether a flag was given.
	said func(flag string) bool
}

// actions are the values of --action.
var actions = []string{string(diagnose.FullSpace), string(diagnose.HalfSpace), string(diagnose.DownStroke)}

// check refuses a pitch or an action that no machine has.
func (t *told) check() error {
	switch {
	case t.pitch != 10 && t.pitch != 12:
		return usagef("--pitch 10 for pica, --pitch 12 for elite", "a pitch of %d is not known", t.pitch)
	case !diagnose.Action(t.action).Known():
		return usagef("--action full, --action half or --action down; full is the common one", "the action %q is not known", t.action)
	}
	return nil
}

// options reads the text and the machine file, where they are given, and refuses
// outputs that would write over them. What the flags say counts before what the
// machine file says.
func (t *told) options(outs outputs) (diagnose.Options, error) {
	opt := diagnose.Options{Action: diagnose.Action(t.action), Pitch: t.pitch}
	if t.text != "" {
		var err error
		if opt.Text, err = readText(t.text); err != nil {
			return opt, err
		}
		if err := outs.spare(t.text, "the text"); err != nil {
			return opt, err
		}
	}
	if t.machine == "" {
		return opt, nil
	}
	m, err := diagnose.ReadMachineFile(t.machine)
	if err != nil {
		return opt, badFile(err)
	}
	if err := outs.spare(t.machine, "the machine file"); err != nil {
		return opt, err
	}
	opt.Machine = m
	if m.Pitch > 0 && !t.said("pitch") {
		opt.Pitch = m.Pitch
	}
	if m.Action != "" && !t.said("action") {
		opt.Action = m.Action
	}
	return opt, nil
}
