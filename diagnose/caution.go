package diagnose

import "strings"

// What belongs beside an adjustment that is proposed.
const (
	cautionSheet   = "The maker's service sheet and a trained repairer come before these words."
	cautionOne     = "Make one adjustment at a time and note what it was."
	cautionSpring  = "The mainspring is under tension even at rest and can lash out: hold the drum, note the turns, never take it out unless you know how it is let down."
	cautionMoving  = "Keep fingers, hair and sleeves clear of the carriage."
	cautionBend    = "Bend parts only little by little: what snaps can rarely be bought."
	cautionSolvent = "Use solvents only as their labels and your local rules say."
)

// caution joins those that belong to a fault; the sheet and one at a time belong
// to all.
func caution(parts ...string) string {
	return strings.Join(append(parts, cautionOne, cautionSheet), " ")
}
