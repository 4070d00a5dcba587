package harmony

import (
	"strings"
	"sync"
)

// QualityRow is what the trade knows of one chord quality. Which tones may be
// left out, the costs and the near misses: common practice, no source.
type QualityRow struct {
	// Name follows the root in the symbol that is written and stands for ever; the
	// spellings in Also, with spaces between, are read besides.
	Name, Also string
	// Degrees are the chord's tones, low to high; they must not be changed.
	Degrees []Degree
	// Kind is its kind-value in MusicXML 4.0, "" where that has none.
	Kind string
	// MayMiss are the degrees besides the root without which a shape is still read
	// as the chord, MayAdd those that the symbol does not name but that may sound
	// with it, as the 11 in a full stack of thirds up to the 13.
	MayMiss, MayAdd []Degree
	// Cost says how far the name is from everyday when a shape is read, 0 being
	// nearest; no shape is read as a chord that is Unread.
	Cost float64
	// Rootless is set where players use the chord without its root, Upper where it
	// is read over a bass note from outside it.
	Rootless, Upper bool
	// Near is what Quality.Near returns, where that is not the usual sevenths.
	Near []string
	// Says is its name in words where the symbol has none that is spoken.
	Says string

	class class
}

// Unread is the Cost of a quality that no shape is read as.
const Unread = -1

// of reads the degrees of a row.
func of(degrees string) []Degree {
	fields := strings.Fields(degrees)
	ds := make([]Degree, len(fields))
	for i, f := range fields {
		d, err := ParseDegree(f)
		if err != nil {
			panic(err) // a misspelled row of a table
		}
		ds[i] = d
	}
	return ds
}

// Qualities returns the qualities that have a name of their own, everyday ones
// first; it must not be changed. Every spelling of one chord type in tonal 6.4.2
// (npm, MIT) is one row, as the tests check.
var Qualities = sync.OnceValue(func() []QualityRow {
	return []QualityRow{
		{Name: "", Also: "M ^ maj", Degrees: of("1 3 5"), class: classMajor, Kind: "major", MayMiss: of("5"),
			Upper: true, Near: []string{"m", "aug", "dim"}, Says: "major triad"},
		{Name: "m", Also: "min - mi", Degrees: of("1 b3 5"), class: classMinor, Kind: "minor", MayMiss: of("5"),
			Upper: true, Near: []string{"", "dim", "sus4"}, Says: "minor triad"},
		{Name: "dim", Also: "° o", Degrees: of("1 b3 b5"), class: classDiminished, Kind: "diminished", Cost: 0.3,
			Upper: true, Near: []string{"m", "aug", "dim7"}, Says: "diminished triad"},
		{Name: "aug", Also: "+ +5 ^#5", Degrees: of("1 3 #5"), class: classAugmented, Kind: "augmented", Cost: 0.3,
			Upper: true, Near: []string{"", "dim", "7#5"}, Says: "augmented triad"},
		{Name: "sus4", Also: "sus 4", Degrees: of("1 4 5"), class: classSuspended, Kind: "suspended-fourth", Cost: 0.3,
			Near: []string{"sus2", "", "7sus4"}},
		{Name: "sus2", Degrees: of("1 2 5"), class: classSuspended, Kind: "suspended-second", Cost: 0.4,
			Near: []string{"sus4", "add9", ""}},
		{Name: "(b5)", Also: "Mb5", Degrees: of("1 3 b5"), class: classMajor, Cost: 1.5,
			Says: "major triad with a flat fifth"},
		{Name: "6", Also: "add6 add13 M6", Degrees: of("1 3 5 6"), class: classMajor, Kind: "major-sixth",
			MayMiss: of("5"), Cost: 0.4, Near: []string{"m6", "maj7", "7"}},
		{Name: "m6", Also: "-6 min6 mi6", Degrees: of("1 b3 5 6"), class: classMinor6, Kind: "minor-sixth",
			MayMiss: of("5"), Cost: 0.4, Near: []string{"m7b5", "6", "m7"}},
		{Name: "6/9", Also: "6add9 69 M69", Degrees: of("1 3 5 6 9"), class: classMajor, MayMiss: of("5"), Cost: 0.6,
			Near: []string{"maj9", "add9", "m6/9"}},
		{Name: "m6/9", Also: "m69 -69", Degrees: of("1 b3 5 6 9"), class: classMinor6, MayMiss: of("5"), Cost: 0.8,
			Near: []string{"m6", "6/9", "m9"}},
		{Name: "7", Also: "dom", Degrees: of("1 3 5 b7"), class: classDominant, Kind: "dominant", MayMiss: of("5"),
			Upper: true, Near: []string{"maj7", "m7", "7sus4"}},
		{Name: "maj7", Also: "Δ ma7 M7 Maj7 ^7 Δ7 △ △7", Degrees: of("1 3 5 7"), class: classMajor7,
			Kind: "major-seventh", MayMiss: of("5"), Upper: true, Near: []string{"7", "mMaj7", "6"}},
		{Name: "m7", Also: "min7 mi7 -7", Degrees: of("1 b3 5 b7"), class: classMinor7, Kind: "minor-seventh",
			MayMiss: of("5"), Upper: true, Near: []string{"m7b5", "7", "m6"}},
		{Name: "m7b5", Also: "ø -7b5 h7 h m7(b5) ø7", Degrees: of("1 b3 b5 b7"), class: classHalfDiminished,
			Kind: "half-diminished", Cost: 0.1, Upper: true, Near: []string{"m7", "dim7", "m6"}},
		{Name: "dim7", Also: "°7 o7", Degrees: of("1 b3 b5 bb7"), class: classDiminished, Kind: "diminished-seventh",
			Cost: 0.1, Upper: true, Near: []string{"m7b5", "7b9", "m6"}},
		{Name: "mMaj7", Also: "m/ma7 m/maj7 mM7 m/M7 -Δ7 mΔ -^7 -maj7 m(maj7)", Degrees: of("1 b3 5 7"),
			class: classMinorMajor7, Kind: "major-minor", MayMiss: of("5"), Cost: 0.5,
			Near: []string{"m7", "maj7", "m6"}},
		{Name: "5", Degrees: of("1 5"), class: classSuspended, Kind: "power", Cost: 0.2, Says: "power chord"},
		{Name: "mMaj7b5", Also: "oM7", Degrees: of("1 b3 b5 7"), class: classDiminished, Cost: 1.2},
		{Name: "7b5", Also: "7(b5)", Degrees: of("1 3 b5 b7"), class: classAltered, Cost: 0.6,
			Near: []string{"7#5", "7#11", "m7b5"}},
		{Name: "7#5", Also: "+7 7+ 7aug aug7 7(#5)", Degrees: of("1 3 #5 b7"), class: classAltered,
			Kind: "augmented-seventh", Cost: 0.6, Near: []string{"7", "aug", "7b5"}},
		{Name: "maj7b5", Also: "M7b5", Degrees: of("1 3 b5 7"), class: classMajor7, Cost: 0.8},
		{Name: "maj7#5", Also: "maj7+5 +maj7 ^7#5", Degrees: of("1 3 #5 7"), class: classMajor7, Cost: 0.8},
		{Name: "7sus4", Also: "7sus sus7", Degrees: of("1 4 5 b7"), class: classSuspended, MayMiss: of("5"), Cost: 0.4,
			Near: []string{"7", "sus4", "m7"}},
		{Name: "9sus4", Also: "9sus", Degrees: of("1 4 5 b7 9"), class: classSuspended, MayMiss: of("5"), Cost: 0.6,
			Near: []string{"9", "7sus4", "m11"}},
		{Name: "13sus4", Also: "13sus", Degrees: of("1 4 5 b7 9 13"), class: classSuspended, MayMiss: of("5 9"), Cost: 0.9},
		{Name: "7sus2", Degrees: of("1 2 5 b7"), class: classSuspended, Cost: 0.9},
		{Name: "maj7sus4", Also: "M7sus4", Degrees: of("1 4 5 7"), class: classSuspended, Cost: 1},
		{Name: "maj7sus2", Degrees: of("1 2 5 7"), class: classSuspended, Cost: 1},
		{Name: "sus24", Also: "sus4add9", Degrees: of("1 2 4 5"), class: classSuspended, Cost: 0.9},
		{Name: "7sus4(b9)", Also: "phryg 7b9sus 7b9sus4", Degrees: of("1 4 5 b7 b9"), class: classSuspended,
			MayMiss: of("5"), Cost: 1},
		{Name: "add9", Also: "Madd9 2 add2", Degrees: of("1 3 5 9"), class: classMajor, MayMiss: of("5"), Cost: 0.5,
			Near: []string{"maj9", "sus2", "6/9"}},
		{Name: "madd9", Also: "m(add9)", Degrees: of("1 b3 5 9"), class: classMinor, MayMiss: of("5"), Cost: 0.5},
		{Name: "add11", Degrees: of("1 3 5 11"), class: classMajor, Cost: 1.5},
		{Name: "madd11", Degrees: of("1 b3 5 11"), class: classMinor, Cost: 1.5},
		{Name: "9", Degrees: of("1 3 5 b7 9"), class: classDominant, Kind: "dominant-ninth", MayMiss: of("5"), Cost: 0.2,
			Rootless: true, Near: []string{"m9", "maj9", "7b9"}},
		{Name: "maj9", Also: "Δ9 ^9", Degrees: of("1 3 5 7 9"), class: classMajor7, Kind: "major-ninth",
			MayMiss: of("5"), Cost: 0.2, Rootless: true, Near: []string{"9", "maj7", "6/9"}},
		{Name: "m9", Also: "-9 min9 mi9", Degrees: of("1 b3 5 b7 9"), class: classMinor7, Kind: "minor-ninth",
			MayMiss: of("5"), Cost: 0.2, Rootless: true, Near: []string{"m7", "9", "mMaj9"}},
		{Name: "mMaj9", Also: "mM9 -^9", Degrees: of("1 b3 5 7 9"), class: classMinorMajor7, MayMiss: of("5"), Cost: 0.7,
			Rootless: true},
		{Name: "m9b5", Degrees: of("1 b3 b5 b7 9"), class: classHalfDiminished, Cost: 0.8},
		{Name: "7b9", Also: "7(b9)", Degrees: of("1 3 5 b7 b9"), class: classAltered, MayMiss: of("5"), Cost: 0.3,
			Rootless: true, Near: []string{"7#9", "9", "dim7"}},
		{Name: "7#9", Also: "7(#9)", Degrees: of("1 3 5 b7 #9"), class: classAltered, MayMiss: of("5"), Cost: 0.3,
			Near: []string{"7b9", "9", "m7"}},
		{Name: "9b5", Degrees: of("1 3 b5 b7 9"), class: classAltered, Cost: 0.7},
		{Name: "9#5", Also: "9+", Degrees: of("1 3 #5 b7 9"), class: classAltered, Cost: 0.7},
		{Name: "7b5b9", Also: "7b9b5", Degrees: of("1 3 b5 b7 b9"), class: classAltered, Cost: 0.9},
		{Name: "7#5b9", Also: "7b9#5", Degrees: of("1 3 #5 b7 b9"), class: classAltered, Cost: 0.8},
		{Name: "7b5#9", Also: "7#9b5", Degrees: of("1 3 b5 b7 #9"), class: classAltered, Cost: 1},
		{Name: "7#5#9", Also: "7#9#5 7alt alt7 alt", Degrees: of("1 3 #5 b7 #9"), class: classAltered, Cost: 0.8},
		{Name: "7#11", Also: "7#4 7(#11)", Degrees: of("1 3 5 b7 #11"), class: classDominant, Cost: 0.6,
			Near: []string{"7", "9#11", "maj7#11"}},
		{Name: "9#11", Also: "9+4 9#4", Degrees: of("1 3 5 b7 9 #11"), class: classDominant, MayMiss: of("5 9"), Cost: 0.8},
		{Name: "maj7#11", Also: "maj#4 Δ#4 Δ#11 M7#11 ^7#11 maj7(#11)", Degrees: of("1 3 5 7 #11"), class: classMajor7,
			Cost: 0.5, Near: []string{"maj7", "7#11", "maj9"}},
		{Name: "maj9#11", Also: "Δ9#11 ^9#11", Degrees: of("1 3 5 7 9 #11"), class: classMajor7, MayMiss: of("5"),
			Cost: 0.7},
		{Name: "7b9#11", Also: "7(b9,#11)", Degrees: of("1 3 5 b7 b9 #11"), class: classAltered, Cost: 0.9},
		{Name: "7#9#11", Degrees: of("1 3 5 b7 #9 #11"), class: classAltered, Cost: 0.9},
		{Name: "6/9#11", Also: "69#11", Degrees: of("1 3 5 6 9 #11"), class: classMajor, MayMiss: of("5"), Cost: 1},
		{Name: "m7#5", Degrees: of("1 b3 b6 b7"), class: classMinor7, Cost: 1.2},
		{Name: "m7b9", Degrees: of("1 b3 5 b7 b9"), class: classMinor7, MayMiss: of("5"), Cost: 1.1},
		{Name: "11", Degrees: of("1 5 b7 9 11"), class: classSuspended, Kind: "dominant-11th", MayMiss: of("5 9"),
			MayAdd: of("3"), Cost: 1.3},
		{Name: "maj11", Degrees: of("1 3 5 7 9 11"), class: classMajor7, Kind: "major-11th", MayMiss: of("5 9"), Cost: 0.8},
		{Name: "m11", Also: "-11 min11", Degrees: of("1 b3 5 b7 9 11"), class: classMinor7, Kind: "minor-11th",
			MayMiss: of("5 9"), Cost: 0.4, Near: []string{"m9", "9sus4", "m7"}},
		{Name: "mMaj11", Degrees: of("1 b3 5 7 9 11"), class: classMinorMajor7, MayMiss: of("5 9"), Cost: 1.2},
		{Name: "13", Degrees: of("1 3 5 b7 9 13"), class: classDominant, Kind: "dominant-13th", MayMiss: of("5 9"),
			MayAdd: of("11"), Cost: 0.3, Rootless: true, Near: []string{"9", "7b13", "maj13"}},
		{Name: "maj13", Also: "Maj13 ^13", Degrees: of("1 3 5 7 9 13"), class: classMajor7, Kind: "major-13th",
			MayMiss: of("5 9"), MayAdd: of("11"), Cost: 0.5},
		{Name: "m13", Also: "-13", Degrees: of("1 b3 5 b7 9 13"), class: classMinor7, Kind: "minor-13th",
			MayMiss: of("5 9"), MayAdd: of("11"), Cost: 0.7},
		{Name: "7b13", Also: "7(b13)", Degrees: of("1 3 5 b7 b13"), class: classAltered, MayMiss: of("5"), Cost: 0.9},
		{Name: "13b9", Also: "13(b9)", Degrees: of("1 3 5 b7 b9 13"), class: classAltered, MayMiss: of("5"), Cost: 0.6},
		{Name: "13#11", Also: "13+4 13#4", Degrees: of("1 3 5 b7 9 #11 13"), class: classDominant, MayMiss: of("5 9"),
			Cost: 0.9},
		{Name: "maj7#5sus4", Also: "M7#5sus4", Degrees: of("1 4 #5 7"), class: classSuspended, Cost: Unread},
		{Name: "7#5sus4", Degrees: of("1 4 #5 b7"), class: classSuspended, Cost: Unread},
		{Name: "7no5", Degrees: of("1 3 b7"), class: classDominant, Cost: Unread},
		{Name: "maj7b6", Also: "M7b6 ^7b6", Degrees: of("1 3 b6 7"), class: classMajor7, Cost: Unread},
		{Name: "7add13", Also: "7add6 67", Degrees: of("1 3 5 b7 13"), class: classDominant, Cost: Unread},
		{Name: "7b6", Degrees: of("1 3 5 b6 b7"), class: classDominant, Cost: Unread},
		{Name: "6#11", Also: "M6#11", Degrees: of("1 3 5 6 #11"), class: classMajor, Cost: Unread},
		{Name: "6b5", Also: "M6b5", Degrees: of("1 3 b5 6"), class: classMajor, Cost: Unread},
		{Name: "7#11b13", Degrees: of("1 3 5 b7 #11 b13"), class: classAltered, Cost: Unread},
		{Name: "7b5b13", Degrees: of("1 3 b5 b7 b13"), class: classAltered, Cost: Unread},
		{Name: "m#5", Also: "-#5 m+", Degrees: of("1 b3 #5"), class: classMinor, Cost: Unread},
		{Name: "mb6maj7", Also: "mb6M7", Degrees: of("1 b3 b6 7"), class: classMinorMajor7, Cost: Unread},
		{Name: "mMaj7b6", Degrees: of("1 b3 5 b6 7"), class: classMinorMajor7, Cost: Unread},
		{Name: "dim7(maj7)", Also: "o7M7", Degrees: of("1 b3 b5 6 7"), class: classDiminished, Cost: Unread},
		{Name: "madd4", Degrees: of("1 b3 4 5"), class: classMinor, Cost: Unread},
		{Name: "m7add11", Also: "m7add4", Degrees: of("1 b3 5 b7 11"), class: classMinor7, Cost: Unread},
		{Name: "aug(add#9)", Also: "+add#9", Degrees: of("1 3 #5 #9"), class: classAugmented, Cost: Unread},
		{Name: "13#9", Degrees: of("1 3 5 b7 #9 13"), class: classAltered, Cost: Unread},
		{Name: "7#9b13", Degrees: of("1 3 5 b7 #9 b13"), class: classAltered, Cost: Unread},
		{Name: "maj7#9#11", Degrees: of("1 3 5 7 #9 #11"), class: classMajor7, Cost: Unread},
		{Name: "13#9#11", Degrees: of("1 3 5 b7 #9 #11 13"), class: classAltered, Cost: Unread},
		{Name: "7#9#11b13", Degrees: of("1 3 5 b7 #9 #11 b13"), class: classAltered, Cost: Unread},
		{Name: "maj9#5sus4", Also: "M9#5sus4", Degrees: of("1 4 #5 7 9"), class: classSuspended, Cost: Unread},
		{Name: "maj9sus4", Also: "M9sus4", Degrees: of("1 4 5 7 9"), class: classSuspended, Cost: Unread},
		{Name: "9no5", Degrees: of("1 3 b7 9"), class: classDominant, Cost: Unread},
		{Name: "13no5", Degrees: of("1 3 b7 9 13"), class: classDominant, Cost: Unread},
		{Name: "aug(add9)", Also: "M#5add9 +add9", Degrees: of("1 3 #5 9"), class: classAugmented, Cost: Unread},
		{Name: "maj9#5", Also: "Maj9#5", Degrees: of("1 3 #5 7 9"), class: classMajor7, Cost: Unread},
		{Name: "9b13", Degrees: of("1 3 5 b7 9 b13"), class: classAltered, Cost: Unread},
		{Name: "maj7add13", Also: "M7add13", Degrees: of("1 3 5 7 13"), class: classMajor7, Cost: Unread},
		{Name: "maj9b5", Also: "M9b5", Degrees: of("1 3 b5 7 9"), class: classMajor7, Cost: Unread},
		{Name: "13b5", Degrees: of("1 3 b5 b7 9 13"), class: classAltered, Cost: Unread},
		{Name: "9#5#11", Degrees: of("1 3 #5 b7 9 #11"), class: classAltered, Cost: Unread},
		{Name: "maj13#11", Also: "M13#11 M13+4 M13#4", Degrees: of("1 3 5 7 9 #11 13"), class: classMajor7, Cost: Unread},
		{Name: "9#11b13", Degrees: of("1 3 5 b7 9 #11 b13"), class: classAltered, Cost: Unread},
		{Name: "9b5b13", Degrees: of("1 3 b5 b7 9 b13"), class: classAltered, Cost: Unread},
		{Name: "m9#5", Degrees: of("1 b3 b6 b7 9"), class: classMinor7, Cost: Unread},
		{Name: "mMaj9b6", Degrees: of("1 b3 5 b6 7 9"), class: classMinorMajor7, Cost: Unread},
		{Name: "11b9", Degrees: of("1 5 b7 b9 11"), class: classSuspended, Cost: Unread},
		{Name: "7sus4(b9,b13)", Also: "7sus4b9b13 7b9b13sus4", Degrees: of("1 4 5 b7 b9 b13"), class: classSuspended,
			Cost: Unread},
		{Name: "addb9", Also: "Maddb9", Degrees: of("1 3 5 b9"), class: classMajor, Cost: Unread},
		{Name: "maj7b9", Also: "M7b9", Degrees: of("1 3 5 7 b9"), class: classMajor7, Cost: Unread},
		{Name: "7b9b13", Also: "7(b9,b13)", Degrees: of("1 3 5 b7 b9 b13"), class: classAltered, Cost: Unread},
		{Name: "7#5b9#11", Degrees: of("1 3 #5 b7 b9 #11"), class: classAltered, Cost: Unread},
		{Name: "13b9#11", Degrees: of("1 3 5 b7 b9 #11 13"), class: classAltered, Cost: Unread},
		{Name: "7b9#11b13", Also: "7b9b13#11", Degrees: of("1 3 5 b7 b9 #11 b13"), class: classAltered, Cost: Unread},
		{Name: "7b5b9b13", Degrees: of("1 3 b5 b7 b9 b13"), class: classAltered, Cost: Unread},
		{Name: "mb6b9", Degrees: of("1 b3 b6 b9"), class: classMinor, Cost: Unread},
		{Name: "7b9#9", Degrees: of("1 3 5 b7 b9 #9"), class: classAltered, Cost: Unread},
		{Name: "add4", Degrees: of("1 3 4 5"), class: classMajor, Cost: Unread},
	}
})
