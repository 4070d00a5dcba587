package fretboard_test

import (
	"fmt"

	"footfall/fretboard"
	"footfall/harmony"
)

func ExampleNeck_Shapes() {
	g7, _ := harmony.ParseChord("G7")
	third, _ := harmony.ParseDegree("3")
	shapes := fretboard.StandardNeck().Shapes(fretboard.DefaultHand(), fretboard.Query{Chord: g7, Bass: third})
	best := shapes[0]
	fmt.Println(best, best.Degrees, best.Fingers)
	// Output: x-2-3-2-3-x [3 b7 9 5] [0 1 3 2 4 0]
}

func ExampleNeck_ReadOver() {
	g7, _ := harmony.ParseChord("G7")
	frets, _ := fretboard.Standard.ParseFrets("x-2-3-2-3-x")
	fmt.Println(fretboard.StandardNeck().ReadOver(frets, g7).Says)
	// Output: root-position m7b5 shape; over G7 it sounds 3 b7 9 5: a rootless 9 with the third in the bass
}

func ExampleNeck_Read() {
	frets, _ := fretboard.Standard.ParseFrets("x02010")
	for _, r := range fretboard.StandardNeck().Read(frets)[:2] {
		fmt.Println(r.Chord, r.Degrees, r.Inversion)
	}
	// Output:
	// Am7 [1 5 b7 b3 5] root position
	// C/A [6 3 5 1 3] 6 in the bass
}

func ExampleNeck_Fits() {
	dm, _ := harmony.ParseChord("Dm")
	frets, _ := fretboard.Standard.ParseFrets("x-5-7-7-7-x")
	fmt.Println(fretboard.StandardNeck().Fits(fretboard.DefaultHand(), fretboard.Query{Chord: dm}, frets))
	// Output: the 3 on string 2 is not in Dm
}
