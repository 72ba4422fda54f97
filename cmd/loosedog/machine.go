package main

import "loosedog/diagnose"

// readMachine reads the machine file, when one is given, into the options. What
// the flags say counts before what the file says.
func (f measureFlags) readMachine(opt *diagnose.Options, outs outputs) error {
	if f.machine == "" {
		return nil
	}
	m, err := diagnose.ReadMachineFile(f.machine)
	if err != nil {
		return badFile(err)
	}
	if err := outs.spare(f.machine, "the machine file"); err != nil {
		return err
	}
	opt.Machine = m
	given := func(flag string) bool { return f.said != nil && f.said(flag) }
	if m.Pitch > 0 && !given("pitch") {
		opt.Pitch = m.Pitch
	}
	if m.Action != "" && !given("action") {
		opt.Action = m.Action
	}
	return nil
}
