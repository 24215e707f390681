package gen

// Cautions are those of every prop, for what is printed.
var Cautions = []string{
	"Servos pinch, and they may move the moment power comes on: hands, hair and cables stay clear.",
	"The remote is a convenience. Know where the supply's switch is and keep it within reach: that is what stops the prop for certain.",
	"Unplug before touching any wire.",
	"Charge lithium packs with a charger made for them, where a fire can do no harm.",
	"Mains, large motors or children close by: follow the rules of the place and ask a licensed person.",
}
