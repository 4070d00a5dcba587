package fretboard

// Role is what a mark on the neck stands for. A face gives each role a look;
// none may rest on colour alone.
type Role uint8

// The roles of a mark.
const (
	Plain   Role = iota // a note that is simply there
	Asked               // the spot a question is about
	Right               // a place that answers
	Wrong               // a place that was played and does not answer
	Next                // where the hand goes next
	Anchor              // a landmark, such as the chord's root
	Coming              // a place of the shape to come
	Staying             // a place that sounds now and in the shape to come
)

// Mark is something written on the neck at a place, at most four characters
// wide: a degree, a finger, a question mark.
type Mark struct {
	Place Place
	Text  string
	Role  Role
}
