package passage

import "strings"

// The sheet's words, all the project's own choice. No capitals: the shift would
// add sounds of its own.
var (
	// ordinary is plain text, the colours go on filling its last line.
	ordinary = words(`the harbour library lends typewriters as well as books; each
		has a number, a coat of paint and a temper; on the shelf wait`)
	colours = words(`red blue grey green cream black ivory umber sand teal rust
		olive coral amber jade plum rose slate white lime tan maroon salmon indigo
		scarlet`)

	// opposite words are struck by the two hands in turn, letter by letter.
	opposite = words(`the island town is right fork it with both turn the dial
		handle ivory visit the city field make so an lamb go by she got us to do it
		when the panel of eight`)

	// ends has pairs of type bars from the two ends of the segment, which come from
	// furthest apart.
	ends = words(`opal lap papa plaza swap soap wasp slap also zap laps owl pawl
		wool slow pals ox lox salsa paws low axle papal pal as so pa`)

	// oneFingered has pairs of two keys for one finger.
	oneFingered = words(`deed nun under hum old my grub brag frog numb lolly gift
		ceded hunt funny jump loll tiny mummy hymn solo decree sunny gum hm`)

	// doubled has one key twice.
	doubled = words(`bell letter add ribbon moon sheet egg pepper kettle coffee
		summer cannon off sorry wool glass puddle carry jazz vacuum skiing savvy odd
		hoof bee ill`)

	// rare words hold the letters that ordinary text seldom has.
	rare = words(`quiz jinx vex box joy zeal fjord waxy quay kayak velvet exit
		jumbo puzzle quick zinc vow judge fix by jack pivot squid cozy job gulf`)

	// apart stand in the space-bar line; one of every length from 2 to 8.
	apart = words(`sea fog oar rope tide gulls ox anchor lantern moorings`)

	slowly   = words(`one letter, one breath, hold the key and let it rise before the next`)
	briskly  = words(`the tide is coming in and the ferry will not wait for us so run along`)
	staccato = words(`short light taps as if the keys were hot and the finger gone at once`)

	// plain fills up lines in which the touch is what counts.
	plain = words(`and then back to the rail where a gull sits on the old boat with
		its eyes shut in the sun as if it had all day to wait for fish or tea`)
)

func words(s string) []string { return strings.Fields(s) }
