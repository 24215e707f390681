package pane

// A Scope says where keys are heard: it is that place's heading on a help page.
type Scope string

// The scopes of dialogs. Any of them hears InAsked or InSteps too, unless it
// must be answered.
const (
	InChooser  Scope = "While you choose"
	InPrompt   Scope = "While you are asked for a text"
	InQuestion Scope = "While you are asked for an answer"
	InAsked    Scope = "While you are asked anything"
	InSteps    Scope = "While one question follows another"
)
