package diagnose

// Pull is what the travel says of the carriage's net pull (mainspring less
// drag).
type Pull struct {
	// Lost is the share of the net pull that is gone from the first to the last
	// position of the line, with its 95 % interval.
	Lost     Number `json:"lost"`
	LostLow  Number `json:"lost_low"`
	LostHigh Number `json:"lost_high"`
	// NetStartN and NetEndN are the net pull in newtons, DragN what the carriage
	// is held back with; null unless the machine file gives what they need.
	NetStartN Interval `json:"net_start_n"`
	NetEndN   Interval `json:"net_end_n"`
	DragN     Interval `json:"drag_n"`
	// Agrees tells whether recording and spring scale agree; null where they
	// cannot be compared.
	Agrees *bool `json:"agrees"`
	// Text says all that in words; "" when nothing is known.
	Text string `json:"text"`
}

// Interval is a value with its 95 % interval.
type Interval struct {
	Value Number `json:"value"`
	Low   Number `json:"low"`
	High  Number `json:"high"`
}

func unknownInterval() Interval { return Interval{Unknown(), Unknown(), Unknown()} }

// pull is nil where the profile has no line.
func (c *Case) pull() *Pull {
	if !c.Profile.PullLost.Known() {
		return nil
	}
	return &Pull{
		Lost: c.Profile.PullLost, LostLow: c.Profile.LostLow, LostHigh: c.Profile.LostHigh,
		NetStartN: unknownInterval(), NetEndN: unknownInterval(), DragN: unknownInterval(),
	}
}
