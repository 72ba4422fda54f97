package diagnose

const (
	// ringLoudDB is the level of the ring 40 to 60 ms after a strike, relative to
	// the strike, from which it is called a ring, and ringStaysDB by how much less
	// than that it may have fallen since the strike. Neither is published; on
	// simulated machines on firm desks the level is 28 dB under the strike or less,
	// in echoing rooms 21. So the finding is never strong.
	ringLoudDB  = -18
	ringStaysDB = 12
	// ringOverDB is how far it must stand over what was there before the strike.
	ringOverDB = 8
	// fewestRings is how many strikes have to stand alone.
	fewestRings = 20
)

// unsteadyDesk: the desk or the floor gives way under the strikes and rings on: a
// low ring follows most of them and lasts into the next stroke. It spoils no
// letter by itself, but it shakes the carriage and covers its sounds.
//
// Likely: the ring is louder by 6 dB than it need be, with its whole interval.
// Possible: the rest.
func unsteadyDesk(c *Case) (Finding, bool) {
	if c.Heard == nil || c.Heard.Ring == nil {
		return Finding{}, false
	}
	ring := c.Heard.Ring
	levels, fall, over := figure(ring.Level), figure(ring.Fall), figure(ring.Over)
	if len(ring.Level) < fewestRings || !(levels.Low > ringLoudDB) || !(fall.High < ringStaysDB) || !(over.Low > ringOverDB) {
		return Finding{}, false
	}
	strength := Possible
	if levels.Low > ringLoudDB+6 {
		strength = Likely
	}
	where := []int{}
	for k, i := range ring.Strokes {
		if ring.Level[k] > ringLoudDB && i < len(c.Take.Strokes) {
			where = append(where, i)
		}
	}
	return Finding{
		Fault: FaultUnsteadyDesk, Share: ShareMachine, Strength: strength,
		Evidence: []Evidence{
			plain("low ring 50 ms after a strike, relative to the strike", float64(levels.Median), "dB").
				within(float64(levels.Low), float64(levels.High)).
				against(ringLoudDB, BasisPractice, "more than echoing rooms leave after simulated strikes; not published"),
			plain("it has fallen by then by", float64(fall.Median), "dB").within(float64(fall.Low), float64(fall.High)),
			plain("it stands over the sound before the strike by", float64(over.Median), "dB").
				within(float64(over.Low), float64(over.High)).against(0, BasisTake, "the same band just before each strike"),
		},
		Where:   where,
		Check:   "Put the machine on a firm table, on its felt or mat, with all four feet down, and record again: the ring should be gone.",
		Next:    "Then the machine's own feet and the screws of its shell.",
		Caution: caution(),
	}, true
}
