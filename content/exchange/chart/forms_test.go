package chart_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"footfall/content/exchange/chart"
)

// TestFormsOfCharts reads charts as they come in messages, posts, mail, tables, scans,
// handouts and other languages. The ways of writing are common practice, no source; the
// progressions are invented or common.
func TestFormsOfCharts(t *testing.T) {
	for name, c := range map[string]struct {
		text, want, key string
		// doubts is how many doubts are told.
		doubts int
	}{
		"sections and counts":                   {"verse: Em C G D (x4)\nchorus: C D Em Em x2\noutro: Em", "Em | C | G | D | Em | C | G | D | Em | C | G | D | Em | C | G | D | C | D | Em | Em | C | D | Em | Em | Em", "Em", 0},
		"sent messages":                         {"[21/11/2025, 09:14:07] Mia: | Gm7 | C7 | Fmaj7 | % |\n[21/11/2025, 09:14:55] Mia: | Bb | C7 | F6 | F6 |", "Gm7 | C7 | Fmaj7 | Fmaj7 | Bb | C7 | F6 | F6", "F", 0},
		"a column of numbers and one of chords": {"Bar\tChord\n1\tDm7\n2\tG7\n3\tCmaj7\n4\tA7\n5\tDm7\n6\tG7\n7\tC6\n8\tC6\n", "Dm7 | G7 | Cmaj7 | A7 | Dm7 | G7 | C6 | C6", "C", 0},
		"sections in the first column":          {"A\tCm7\tF7\tBbmaj7\tEbmaj7\n\tAm7b5\tD7\tGm\tG7\nB\tCm7\tF7\tDm7\tG7\n\tCm7\tF7\tBb6\tBb6\n", "Cm7 | F7 | Bbmaj7 | Ebmaj7 | Am7b5 | D7 | Gm | G7 | Cm7 | F7 | Dm7 | G7 | Cm7 | F7 | Bb6 | Bb6", "Bb", 0},
		"a table of commas":                     {"Section,Bar 1,Bar 2,Bar 3,Bar 4\nVerse,Em7,A7,Dmaj7,Bm7\nChorus,G,A,D,D\n", "Em7 | A7 | Dmaj7 | Bm7 | G | A | D | D", "D", 0},
		"headings and emphasis":                 {"# Ember Lane\n\n*Key:* Ab — *Tempo:* 132\n\n## A\n\n| Abmaj7 | Fm7 | Bbm7 | Eb7 |\n|---|---|---|---|\n| Cm7 | F7 | Bbm7 | Eb7 |\n\n## B\n\n| Dbmaj7 | Dbm6 | Cm7 | F7 |\n|---|---|---|---|\n| Bb7 | Bb7 | Eb7 | Eb7 |\n", "Abmaj7 | Fm7 | Bbm7 | Eb7 | Cm7 | F7 | Bbm7 | Eb7 | Dbmaj7 | Dbm6 | Cm7 | F7 | Bb7 | Bb7 | Eb7 | Eb7", "Ab", 0},
		"a table with a first row of names":     {"| Section | 1 | 2 | 3 | 4 |\n|:--|:-:|:-:|:-:|:-:|\n| A | Gm7 | C7 | Fmaj7 | Dm7 |\n| B | Bbmaj7 | Bbm6 | Am7 | D7 |\n", "Gm7 | C7 | Fmaj7 | Dm7 | Bbmaj7 | Bbm6 | Am7 | D7", "F", 0},
		"capitals for bar lines":                {"I Cm7 I F7 I Bb maj7 I Eb maj7 I\nI A m7 b5 I D7 I G m I G m I", "Cm7 | F7 | Bbmaj7 | Ebmaj7 | Am7b5 | D7 | Gm | Gm", "Gm", 2},
		"spaces in all symbols":                 {"| Fmaj 7 | B b 7 | A m 7 | D 7 (b9) |\n| G m 7 | C 7 | F 6 | C 7 sus |", "Fmaj7 | Bb7 | Am7 | D7(b9) | Gm7 | C7 | F6 | C7sus", "F", 0},
		"do, re, mi":                            {"Titre : La Grille\nTonalité : Ré mineur\nTempo : 96\n\nRém | Solm | La7 | Rém\nSib | Fa | Mim7b5 La7 | Rém", "Dm | Gm | A7 | Dm | Bb | F | Em7b5 A7 | Dm", "Dm", 1},
		"German":                                {"Langsamer Walzer, Tonart G-Dur\n\n| G | Em | Am | D7 |\n| H7 | Em | A7 | D7 |\n| G | E7 | Am | D7 |\n| G | D7 | G | G |", "G | Em | Am | D7 | B7 | Em | A7 | D7 | G | E7 | Am | D7 | G | D7 | G | G", "G", 2},
		"Spanish":                               {"Tono: La menor\nCompás: 3/4\n\nEstrofa:\nLam - Mi7 - Lam - Lam\nRem - Lam - Mi7 - Lam\nEstribillo:\nFa - Do - Mi7 - Lam", "Am | E7 | Am | Am | Dm | Am | E7 | Am | F | C | E7 | Am", "Am", 1},
		"numerals below the bars":               {"Etude 2 (♩ = 80)\n\n| Gmaj7 | Em7 | Am7 | D7 |\n  I       vi    ii    V\n| Bm7 | E7 | Am7 D7 | G6 |\n  iii   VI   ii  V    I\n", "Gmaj7 | Em7 | Am7 | D7 | Bm7 | E7 | Am7 D7 | G6", "G", 0},
		"sections on one line":                  {"A: Dm Gm A7 Dm, B: F C A7 Dm, form AABA", "Dm | Gm | A7 | Dm | Dm | Gm | A7 | Dm | F | C | A7 | Dm | Dm | Gm | A7 | Dm", "Dm", 0},
		"chords in parentheses among words":     {"[Verse]\n(Em)Step by step and (C)stone by stone\n(G)someone's always (D)going home\n", "Em | C | G | D", "Em", 1},
		"j for a major seventh":                 {"Cj7 | Am7 | Dm7 | G7 | Cj7 | A7 | Dm7 G7 | C6", "Cmaj7 | Am7 | Dm7 | G7 | Cmaj7 | A7 | Dm7 G7 | C6", "C", 0},
		"German without H":                      {"Es-Dur, Swing\n\n| Es | Cm7 | Fm7 | B7 |\n| Gm7 | C7 | Fm7 B7 | Es |", "Eb | Cm7 | Fm7 | Bb7 | Gm7 | C7 | Fm7 Bb7 | Eb", "Eb", 1},
		"letters apart from bars":               {"Tune: Red Gate   Key: Bb   Meter: 4/4   Form: A B\n\nA  Bbmaj7 | Gm7 | Cm7 | F7 |\n   Bbmaj7 | Gm7 | Cm7 F7 | Bb6 ||\nB  Ebmaj7 | Ebm6 | Dm7 | G7 |\n   C7 | C7 | Cm7 | F7 ||", "Bbmaj7 | Gm7 | Cm7 | F7 | Bbmaj7 | Gm7 | Cm7 F7 | Bb6 | Ebmaj7 | Ebm6 | Dm7 | G7 | C7 | C7 | Cm7 | F7", "Bb", 0},
		"ranges of bars":                        {"Measures 1-2: C6\nMeasures 3-4: A7\nMeasures 5-6: Dm7\nMeasures 7-8: G7\n", "C6 | C6 | A7 | A7 | Dm7 | Dm7 | G7 | G7", "C", 0},
		"as many bars of each":                  {"Warm-up: two bars of each chord\n\nDm7  Gm7  C7  Fmaj7\n", "Dm7 | Dm7 | Gm7 | Gm7 | C7 | C7 | Fmaj7 | Fmaj7", "F", 1},
		"who said it and when":                  {"14:02 - Kim: bridge is Gm7 C7 F6 D7\n14:03 - Kim: twice", "Gm7 | C7 | F6 | D7 | Gm7 | C7 | F6 | D7", "F", 1},
		"beats of each":                         {"Am7(9) D13 Gmaj7 G6 - 4 beats each", "Am7(9) | D13 | Gmaj7 | G6", "G", 0},
		"cells in quotation marks":              {"\"Dm7\",\"G7\",\"Cmaj7\",\"Cmaj7\"\n\"Fm7\",\"Bb7\",\"Ebmaj7\",\"Ebmaj7\"\n", "Dm7 | G7 | Cmaj7 | Cmaj7 | Fm7 | Bb7 | Ebmaj7 | Ebmaj7", "Eb", 0},
		"ranges in a table":                     {"Bars | Chord\n---|---\n1-4 | Gm7\n5-6 | Cm7\n7-8 | Gm7\n9 | D7\n10 | Cm7\n11-12 | Gm7\n", "Gm7 | Gm7 | Gm7 | Gm7 | Cm7 | Cm7 | Gm7 | Gm7 | D7 | Cm7 | Gm7 | Gm7", "Gm", 0},
		"numbered sections":                     {"1. **Intro** – Em | C | Am | B7\n2. **Verse** – Em | G | Am | B7\n3. **Outro** – Em | Em\n", "Em | C | Am | B7 | Em | G | Am | B7 | Em | Em", "Em", 0},
		"two kinds of bar lines":                {"| Am7 I D7 I Gmaj7 I Cmaj7 |\n| F#m7b5 I B7 I Em I Em |", "Am7 | D7 | Gmaj7 | Cmaj7 | F#m7b5 | B7 | Em | Em", "Em", 2},
		"a, b, c":                               {"Worksheet 7 — Turnarounds\n\na) C6 A7 | Dm7 G7\nb) C6 Eb7 | Abmaj7 Db7\nc) Em7 A7 | Dm7 G7\n", "C6 A7 | Dm7 G7 | C6 Eb7 | Abmaj7 Db7 | Em7 A7 | Dm7 G7", "C", 0},
		"remarks behind letters":                {"A (swing): | C6 | A7 | Dm7 | G7 |\nB (latin): | Fm7 | Bb7 | Ebmaj7 | G7 |", "C6 | A7 | Dm7 | G7 | Fm7 | Bb7 | Ebmaj7 | G7", "C", 0},
		"dots between, twice":                   {"#### Chorus (x2)\n\nBm · G · D · A\n", "Bm | G | D | A | Bm | G | D | A", "Bm", 1},
		"times in Spanish":                      {"Estrofa 1: Dm - Gm - A7 - Dm\nEstribillo: Bb - F - A7 - Dm (2 veces)", "Dm | Gm | A7 | Dm | Bb | F | A7 | Dm | Bb | F | A7 | Dm", "Dm", 0},
		"times within a line of bars":           {"Gm7 | C7 | Gm7 | C7 | x4 then Am7 | D7 | Gm7 | %", "Gm7 | C7 | Gm7 | C7 | Gm7 | C7 | Gm7 | C7 | Gm7 | C7 | Gm7 | C7 | Gm7 | C7 | Gm7 | C7 | Am7 | D7 | Gm7 | Gm7", "F", 1},
		"struck through":                        {"~~old: C | Am | F | G~~\n\nnew: C | Em | F | G", "C | Em | F | G", "C", 1},
		"chords and then words":                 {"Am,G,F,E7 all the way thru", "Am | G | F | E7", "Am", 1},
		"times in a remark":                     {"Outro (repeat 3x, then stop on Am):\nAm | G | F | G", "Am | G | F | G | Am | G | F | G | Am | G | F | G", "Am", 1},
		"headers in cells":                      {"tune\tBrick Lane\nkey\tF\n\nF6\tD7\tGm7\tC7\nAm7\tD7\tGm7 C7\tF6\n", "F6 | D7 | Gm7 | C7 | Am7 | D7 | Gm7 C7 | F6", "F", 1},
		"signs of other kinds":                  {"F‑7 | B♭‑7 | E♭7 | A♭△7 | D♭△7 | G7 | C△7 | C△7", "F-7 | Bb-7 | Eb7 | Ab△7 | Db△7 | G7 | C△7 | C△7", "Fm", 0},
		"times, then":                           {"this one: Fm Fm Db C7 (x2) then Bbm Fm C7 Fm", "Fm | Fm | Db | C7 | Fm | Fm | Db | C7 | Bbm | Fm | C7 | Fm", "Fm", 1},
		"times behind the second line":          {"C   C/B   Am   G\nF   C/E   Dm   G   (x2)\n", "C | C/B | Am | G | F | C/E | Dm | G | F | C/E | Dm | G", "C", 1},
		"an empty cell":                         {"Cmaj7\tA7\tDm7\tG7\t\tCmaj7\tA7\tDm7\tG7\n", "Cmaj7 | A7 | Dm7 | G7 | Cmaj7 | A7 | Dm7 | G7", "C", 1},
		"headers in quotation marks":            {"\"Title\",\"Blue Crate\"\n\"Key\",\"G\"\n\"G6\",\"E7\",\"Am7\",\"D7\"\n", "G6 | E7 | Am7 | D7", "G", 0},
		"as before, in German":                  {"Strophe 1: Em C G D\nStrophe 2: wie Strophe 1\nRefrain: Am C Em Em", "Em | C | G | D | Em | C | G | D | Am | C | Em | Em", "Em", 0},
		"lengths of sections":                   {"Song form: A A B A\nA = 8 bars, B = 8 bars\n\nA: Bb6 | G7 | Cm7 | F7 | Dm7 | G7 | Cm7 F7 | Bb6\nB: D7 | D7 | G7 | G7 | C7 | C7 | F7 | F7", "Bb6 | G7 | Cm7 | F7 | Dm7 | G7 | Cm7 F7 | Bb6 | Bb6 | G7 | Cm7 | F7 | Dm7 | G7 | Cm7 F7 | Bb6 | D7 | D7 | G7 | G7 | C7 | C7 | F7 | F7 | Bb6 | G7 | Cm7 | F7 | Dm7 | G7 | Cm7 F7 | Bb6", "Bb", 0},
		"one version and another":               {"So the chart says\n| Gm7 | Gm7 | Eb7 | D7 |\nbut on the record I hear\n| Gm7 | C7 | Eb7 | D7 |", "Gm7 | Gm7 | Eb7 | D7 | Gm7 | C7 | Eb7 | D7", "Gm", 1},
		"numbers above chords":                  {"Bars:   1      2      3      4\n        Cm7    F7     Bbmaj7 Ebmaj7\n        5      6      7      8\n        Am7b5  D7     Gm     Gm", "Cm7 | F7 | Bbmaj7 | Ebmaj7 | Am7b5 | D7 | Gm | Gm", "Gm", 0},
		"as the verse, numbered":                {"1. Intro: Am | Am\n2. Verse: Am | Dm | E7 | Am\n3. Solo: same as verse\n4. Outro: Am | E7 | Am | Am", "Am | Am | Am | Dm | E7 | Am | Am | Dm | E7 | Am | Am | E7 | Am | Am", "Am", 0},
		"letters of hand charts":                {"A  F△9 | Bø E7b9 |\nB  C-7 | F7 |\n   Bb△ | % |\nA  F△9 | F6 |", "F△9 | Bø E7b9 | C-7 | F7 | Bb△ | Bb△ | F△9 | F6", "F", 0},
		"letters close to bars":                 {"A F△9 | Bø E7b9 |\nB C-7 | F7 |", "F△9 | Bø E7b9 | C-7 | F7", "F", 2},
		"numbered letters and bars":             {"A1 F△9 | Bø E7b9 |\nA2 F△9 | F6 |", "F△9 | Bø E7b9 | F△9 | F6", "F", 1},
		"a letter after one marked":             {"A: F△9 | Bb7\nB | C-7 | F7 |", "F△9 | Bb7 | C-7 | F7", "F", 1},
		"a chord and the word is":               {"D A Bm G is the loop", "D | A | Bm | G", "D", 1},
		"letters in bold cells":                 {"| **A** | Bm7 | E7 |\n| **B** | Am7 | D7 |", "Bm7 | E7 | Am7 | D7", "G", 0},
		"a number beside a feel":                {"C F G C\nplay it at 110 swing", "C | F | G | C", "C", 0},
		"numbered rows of a table":              {"Bar,Chord\n1,Fmaj7\n2,Gm7 C7\n3,F6\n", "Fmaj7 | Gm7 C7 | F6", "F", 0},
		"all of it twice, said first":           {"Rope Bridge, whole thing twice\nDm7 | G7", "Dm7 | G7 | Dm7 | G7", "C", 1},
		"all of it, on a line before":           {"Rope Bridge\n\nplay the whole thing 3x\nDm7 | G7", "Dm7 | G7 | Dm7 | G7 | Dm7 | G7", "C", 1},
		"an intro from what comes":              {"Rope Bridge\nIntro = last 2 bars of A\n\nA\nC | F | Dm | G\nB\nAm | G\nForm: Intro A B", "Dm | G | C | F | Dm | G | Am | G", "C", 1},
		"a form with a section that is missing": {"A\nC | F\nB\nDm | G\nForm: Intro A A B A", "C | F | C | F | Dm | G | C | F", "F", 1},
		"a section and its sign":                {"[Intro]\n| C | G |\n[A] segno\n| F | G |\n[B]\n| Am | Dm | D.S.", "C | G | F | G | Am | Dm | F | G | Am | Dm", "C", 1},
		"ranges of bars without a word":         {"1-4    N.C. (drums alone)\n5-8    D Bm G A\n9-10   D", "N.C. | N.C. | N.C. | N.C. | D | Bm | G | A | D | D", "D", 0},
		"number signs before sections":          {"#1 Verse\nDm7 G7\n#2 Chorus\nF C\n#1 Verse", "Dm7 | G7 | F | C | Dm7 | G7", "C", 0},
		"a section equal to what is not known":  {"Rope Bridge\nBridge = same as A but last bar G7\nA: C | F", "C | F", "F", 1},
		"beats of each, on a line before":       {"2 beats on each chord\n\nA E F#m D\nD E D E", "A E | F#m D | D E | D E", "A", 2},
		"letters that equal bars":               {"A = | Am | E7 |\nB = | C | G |", "Am | E7 | C | G", "Am", 0},
		"one letter alone":                      {"A  F△9 | Bø E7b9 |", "A F△9 | Bø E7b9", "A", 1},
	} {
		t.Run(name, func(t *testing.T) {
			bars, tn, doubts := played(t, c.text)
			assert.Equal(t, c.want, bars)
			assert.Equal(t, c.key, tn.Key.String())
			assert.Len(t, doubts, c.doubts, doubts)
		})
	}
}

// TestNothingLeftOfALine has lines that hold signs and no chords.
func TestNothingLeftOfALine(t *testing.T) {
	for _, line := range []string{"- (", "[ ]", "[]", "(,)", ",,,", "x2", "- x2", "| x2 |", "|:", "(2 bars)", "C x2 x2", "[1", "\"\"", "%% x3", "1. 2. 3."} {
		for _, text := range []string{line, "| C | F |\n" + line, line + "\n| C | F |"} {
			assert.NotPanics(t, func() { chart.Read(text) }, text)
		}
	}
}
