package chart_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"footfall/content/exchange/chart"
)

// TestFormsAndChanges has forms beside what is written out, bars that are played again with
// a change, and places left open. The ways of writing are common practice, no source.
func TestFormsAndChanges(t *testing.T) {
	for name, c := range map[string]struct {
		text, want string
		// doubt is a part of one that is told, doubts how many are.
		doubt  string
		doubts int
	}{
		"a form of what is written out":        {"Form: AABA\nA |: C | Am |1. F | G :|2. F | C ||\nB | Dm | G | Em | A7 ||\nA | C | Am | G | C |]", "C | Am | F | G | C | Am | F | C | Dm | G | Em | A7 | C | Am | G | C", "", 0},
		"endings for a form":                   {"Form: AABA\nA |: C | Am |1. F | G :|2. F | C ||\nB | Dm | G | Em | A7 ||", "C | Am | F | G | C | Am | F | C | Dm | G | Em | A7 | C | Am | F | C", "its last ending", 1},
		"a repeat within a section":            {"Form: AABA\nA |: C | F :|\nB | Dm | G | Em | A7 |", "C | F | C | F | C | F | C | F | Dm | G | Em | A7 | C | F | C | F", "", 0},
		"a repeat without endings for a form":  {"Form: AABA\nA |: C | F :|\nB | Dm | G |", "C | F | C | F | Dm | G | C | F", "", 0},
		"numbered letters before bars":         {"AABA\n\nA1 | C | F |\nA2 | C | G7 |\nB  | Dm | G |\nA3 | C | C |", "C | F | C | G7 | Dm | G | C | C", "", 0},
		"a form played twice":                  {"Form: AABA x2\nA: C\nB: G", "C | C | G | C | C | C | G | C", "", 0},
		"a count behind letters":               {"Form: A A B A x2\nA: C\nB: G", "C | C | G | C | C", "that of A alone", 1},
		"lengths beside a form":                {"form = A A B A (A = 2, B = 2)\nA: C F\nB: G C", "C | F | C | F | G | C | C | F", "", 0},
		"a form without a colon":               {"Form AABA 8 bars\nA: C F\nB: G C", "C | F | C | F | G | C | C | F", "", 0},
		"signs for the coda":                   {"| C | F | ⊕\n| G | C | D.C. al ⊕\n⊕ | Am | C |", "C | F | G | C | C | F | Am | C", "", 0},
		"over the verse":                       {"Verse | Am | Dm |\nChorus | F | C |\nSolo: over verse chords", "Am | Dm | F | C | Am | Dm", "", 0},
		"all again":                            {"Verse:\nC F\nChorus:\nG C\nRepeat all", "C | F | G | C | C | F | G | C", "all is played once more", 1},
		"twice and then":                       {"E A B7 E\ntwice, then\n\nA B7 E A", "E | A | B7 | E | E | A | B7 | E | A | B7 | E | A", "2 times", 1},
		"a section in parentheses and a count": {"Chorus:\nC F\nVerse:\nG C\n(Chorus x2)", "C | F | G | C | C | F | C | F", "", 0},
		"a last section written out":           {"Form: AABA\nA: C F\nB: Dm G\nA: C C", "C | F | C | F | Dm | G | C | C", "", 0},
		"a form of numbered letters":           {"Form: AABA\nA1: C F\nA2: C G\nB: Dm G\nA3: C C", "C | F | C | G | Dm | G | C | C", "", 0},
		"a length behind a form":               {"Form: AABA, 8 bars\nA: C F\nB: Dm G", "C | F | C | F | Dm | G | C | F", "", 0},
		"another length behind a form":         {"Form: AABA (32 bars)\nA: C F\nB: Dm G", "C | F | C | F | Dm | G | C | F", "is said to have 32 bars and has 8", 1},
		"a length as it is written":            {"Form: AB, 6 bars\nA: C F\nB: G\nA: C Am C", "C | F | G | C | Am | C", "said to have 6 bars", 1},
		"what a form leaves out":               {"Form: A A\nA: C F\nB: Dm G", "C | F | C | F", "line 3: the form does not name B", 1},
		"a coda and its sign":                  {"| C | F | To Coda ⊕\n| G | C | D.C. al Coda\n\n⊕ Coda\n| Am | C |", "C | F | G | C | C | F | Am | C", "", 0},
		"a coda that is not there":             {"| C | F |\n| G | C | D.S. al Coda", "C | F | G | C", "a coda that it does not have", 1},
		"a coda that nothing leads to":         {"| C | F | To Coda ⊕\n| G | C |\n⊕ Coda\n| Am | C |", "C | F | G | C | Am | C", "nothing sends back", 1},
		"the first bars again":                 {"| C | F | G | C |\nD.C. - first 2 bars & out", "C | F | G | C | C | F", "bars 1 to 2 are played again", 1},
		"a jump in words":                      {"| C | F | G | C |\nD.C. till it feels done, then the riff", "C | F | G | C", "line 2: D.C. till it feels done", 1},
		"letters in a table of commas":         {"A,F6,D7,Gm7,C7\nA,F6,D7,Gm7 C7,F6\nB,Bb6,Bbm6,F6,C7", "F6 | D7 | Gm7 | C7 | F6 | D7 | Gm7 C7 | F6 | Bb6 | Bbm6 | F6 | C7", "commas part the bars", 1},
		"same again":                           {"C | F\nthen same again\nbridge\nG | C", "C | F | C | F | G | C", "line 2", 1},
		"twice thru":                           {"C - F - G - C\ntwice thru", "C | F | G | C | C | F | G | C", "2 times", 1},
		"the last A":                           {"A: C F\nbridge\nG C\nlast A", "C | F | G | C | C | F", "", 0},
		"the last A with bars":                 {"A: C F\nB: G C\nLast A: C C", "C | F | G | C | C | C", "", 0},
		"the same but for the last bars":       {"A1: C | F | G | C\nA2: same, but last two bars F | F\nB: Am\nA3: as A2", "C | F | G | C | C | F | F | F | Am | C | F | F | F", "", 0},
		"the same but for a bar too few":       {"A1: C | F | G | C\nA2: as before except last 2 bars: F", "C | F | G | C | C | F | F", "2 bars are said", 1},
		"endings on lines in words":            {"A section\n| C | F |\n1st ending: | G | C |\n2nd ending: | G7 | C6 |\nB section\n| Am | D7 |\nLast A: as before, with 2nd ending", "C | F | G | C | C | F | G7 | C6 | Am | D7 | C | F | G7 | C6", "", 0},
		"the last bars first":                  {"Blues in F\nIntro: last 2 bars\n\n| F | Bb | F | C7 |", "F | C7 | F | Bb | F | C7", "Intro is played as bars 3 to 4", 1},
		"a section spoken of":                  {"A: C F\nB: G C\nA2: same bars with more space", "C | F | G | C", "same bars with more space", 2},
		"the last bars last":                   {"Intro: last 2 bars\n| C | F | G | A7 |\nOutro: last 2 bars x2", "G | A7 | C | F | G | A7 | G | A7 | G | A7", "Outro is played as bars 5 to 6", 2},
		"the same as one named":                {"A1: C | F\nA2: G | F\nA3: same as A2 but last bar C", "C | F | G | F | G | C", "", 0},
		"a section and its ending":             {"A section (repeat)\n| C | F |\n1st ending: | G | C |\n2nd ending: | G7 | C6 |\nB section\n| Am | D7 |\nA section, 2nd ending", "C | F | G | C | C | F | G7 | C6 | Am | D7 | C | F | G7 | C6", "", 0},
		"bars by their numbers":                {"Bars 1-2: C | F\nBars 3-4: G | C\nBars 5-6: repeat 1-2", "C | F | G | C | C | F", "bars 1 to 2 are played again", 1},
		"back to what is not named":            {"C F G C\nand back to the first riff", "C | F | G | C", "line 2", 1},
		"words to sing of a first time":        {"C F\nwalking along by the water\nG C\nfirst time I saw the mill\nF C\nonce more", "C | F | G | C | F | C", "", 0},
		"same chords":                          {"Verse 1\nC F\nVerse 2 (same chords)\nhere are the words of it", "C | F | C | F", "", 0},
		"places left open":                     {"| C | ____ | ? | G |", "C | C | C | G", "____ is a bar of which nothing is known", 2},
		"a place left open first":              {"| ? | C | F | G |", "N.C. | C | F | G", "no chord is put in", 1},
		"empty cells below numbers":            {"\t1\t2\t3\t4\nA\tF6\t\tGm7\tC7\nB\tBb6\tC7?\tF6\t", "F6 | F6 | Gm7 | C7 | Bb6 | C7 | F6 | F6", "C7 has a question mark", 3},
		"a column of notes":                    {"Bar\tChords\tNotes\n1\tDm7\tvamp\n2\tG7\tb9 ok\n3\t%\t\n4\tC6\trit", "Dm7 | G7 | G7 | C6", "", 0},
		"dots around words":                    {"C Am F G\nAb Fm .. something ..", "C | Am | F | G | Ab | Fm", "not all of it is written", 2},
		"chords not remembered":                {"C F\nwalking along by the water\n(here I never remember the chords, two bars)\nG C\nhome by the mill", "C | F | G | C", "line 3", 1},
		"four chords in one bar among others":  {"| C Am Dm G7 | C |\n| F | C |", "C Am Dm G7 | C | F | C", "", 0},
		"marks around the lines of a section":  {"{start_of_verse}\n[C]Down by the [F]water\n{end_of_verse}\n{start_of_chorus}\n[G]Home to the [C]mill\n{end_of_chorus}", "C | F | G | C", "chords in brackets", 1},
		"tasks below the bars":                 {"| C | Am | Dm | G7 |\n\nQuestions\n1. Play the guide tones of Dm7, then of G7, in half notes.", "C | Am | Dm | G7", "", 0},
	} {
		t.Run(name, func(t *testing.T) {
			bars, _, doubts := played(t, c.text)
			assert.Equal(t, c.want, bars)
			all := strings.Join(doubts, "; ")
			assert.Contains(t, all, c.doubt)
			assert.Len(t, doubts, c.doubts, all)
		})
	}
}

// TestFactsInTitles has what first lines say of key, meter, tempo and feel, and lines that
// are no titles.
func TestFactsInTitles(t *testing.T) {
	for text, want := range map[string]struct {
		title, key, meter string
		tempo             float64
	}{
		"Slate Porter   Am   fast 4, 200":                                        {"Slate Porter", "Am", "4/4", 200},
		"Slate Yard  Em  104":                                                    {"Slate Yard", "Em", "4/4", 104},
		"Slate Stomp, up tempo 210, in E minor":                                  {"Slate Stomp", "Em", "4/4", 210},
		"Slate Hymn   6/8   A   dotted quarter = 48":                             {"Slate Hymn", "A", "6/8", 72},
		"Slate Thimble [med swing - Eb - 138]":                                   {"Slate Thimble", "Eb", "4/4", 138},
		"Slate Road\nswing 8ths, 152bpm, key = Ab":                               {"Slate Road", "Ab", "4/4", 152},
		"Slate, g-Moll, langsam, 72":                                             {"Slate", "Gm", "4/4", 72},
		"Section;1;2;3;4":                                                        {"", "", "4/4", 0},
		"Hey There Slate":                                                        {"Hey There Slate", "", "4/4", 0},
		"Here Is the Slate for You":                                              {"Here Is the Slate for You", "", "4/4", 0},
		"I left you on the slate":                                                {"I left you on the slate", "", "4/4", 0},
		"so the tune is called slate, in C minor, tempo maybe 90?":               {"", "Cm", "4/4", 90},
		"Slate Yard Em 104":                                                      {"Slate Yard", "Em", "4/4", 104},
		"Slate Wagon (Eb, latin, 180)":                                           {"Slate Wagon", "Eb", "4/4", 180},
		"SLATE SHUFFLE  G  shuffle 118":                                          {"SLATE SHUFFLE", "G", "4/4", 118},
		"Two Slates - D - 4/4 - 88":                                              {"Two Slates", "D", "4/4", 88},
		"Slate Window - up, 220":                                                 {"Slate Window", "", "4/4", 220},
		"Waltz for a Slate     3/4   G major   ♩=144":                            {"Waltz for a Slate", "G", "3/4", 144},
		"THE SLATE      med. swing  ♩ = 152     Key: A♭   4/4":                   {"THE SLATE", "Ab", "4/4", 152},
		"Slate Harbour     (even 8ths, ♩=96, modal)":                             {"Slate Harbour", "", "4/4", 96},
		"Handout no. 7 - \"Slate Sundays\"":                                      {"Slate Sundays", "", "4/4", 0},
		"waltz 3/4 \"Slate\"\nq=120ish":                                          {"Slate", "", "3/4", 120},
		"Hi Orla,\n\nkey of G, slow 4/4, around 72":                              {"", "G", "4/4", 72},
		"yo can u learn this by friday":                                          {"", "", "4/4", 0},
		"Dear all,\nSlate Lane":                                                  {"Slate Lane", "", "4/4", 0},
		"« Slate »\nSib majeur, swing":                                           {"Slate", "Bb", "4/4", 0},
		"Posting this from memory, key of G:":                                    {"", "G", "4/4", 0},
		"Slate polka (2/4, quick, 112)":                                          {"Slate polka", "", "2/4", 112},
		"slow walk to the slate. key D. 68bpm":                                   {"slow walk to the slate", "D", "4/4", 68},
		"porch slate (funk) E 98":                                                {"porch slate", "E", "4/4", 98},
		"GREY SLATE - Gm - 88bpm - reggae":                                       {"GREY SLATE", "Gm", "4/4", 88},
		"no. 4 of the set: Slate\nBm, 150, straight rock":                        {"no. 4 of the set: Slate", "Bm", "4/4", 150},
		"lullaby for a slate in Eb, 3/4, 80":                                     {"lullaby for a slate in Eb", "Eb", "3/4", 80},
		"Slate Postcard\nC 4/4 70 bpm fingerpicked":                              {"Slate Postcard", "C", "4/4", 70},
		"Rhythm section please check:\n\"Slate Blues\", Bb concert, 4/4, q=144":  {"Slate Blues", "Bb", "4/4", 144},
		"jazz waltz for the spring\n\"Slate\" - key F - 3/4 - 150":               {"Slate", "F", "3/4", 150},
		"The Slate Minor, Dm, swing 176. Changes in concert pitch:":              {"The Slate Minor", "Dm", "4/4", 176},
		"Slate Fair   Fast Bop (d=120)   C":                                      {"Slate Fair", "C", "4/4", 240},
		"12/3 today: slate waltz, 3/4, 150 bpm, G major":                         {"12/3 today: slate waltz", "G", "3/4", 150},
		"Name: Slate Bus\nKey F, med. up swing, 184 bpm":                         {"Slate Bus", "F", "4/4", 184},
		"Tune name: Slate":                                                       {"Slate", "", "4/4", 0},
		"Slate Coat (draft 3)\nC major, 4/4, tempo 92":                           {"Slate Coat", "C", "4/4", 92},
		"A Slate Left Open  (D)  88 bpm":                                         {"A Slate Left Open", "D", "4/4", 88},
		"Slate and Water (communion)   3/4   key F   quarter = 92":               {"Slate and Water", "F", "3/4", 92},
		"Slate Over Us - key G, last chorus in A!!\nBPM 128":                     {"Slate Over Us", "G", "4/4", 128},
		"1. Slate Blues - F, medium swing, 4/4, about 132":                       {"Slate Blues", "F", "4/4", 132},
		"Grey Slate (minor blues, C minor, 4/4, 120 bpm)":                        {"Grey Slate", "Cm", "4/4", 120},
		"Old Slates | key Ab | ballad 66 | 4/4":                                  {"Old Slates", "Ab", "4/4", 66},
		"Slates\nKey: G | 116 bpm | 4/4":                                         {"Slates", "G", "4/4", 116},
		"My tune: Slate Drive\nKey: Bm":                                          {"Slate Drive", "Bm", "4/4", 0},
		"Heres what I have so far for my song Wet Slates, tempo 94, key D minor": {"Wet Slates", "Dm", "4/4", 94},
		"A slow slate, 62 bpm":                                                   {"A slow slate", "", "4/4", 62},
		"Slate\nTonalité : Ré mineur - 4/4 - noire = 110":                        {"Slate", "Dm", "4/4", 110},
		"Slate in 3/4 (Eb)":                                                      {"Slate", "Eb", "3/4", 0},
		"Slate\nhalf = 60":                                                       {"Slate", "", "4/4", 120},
		"Slate\n60 to the half note":                                             {"Slate", "", "4/4", 120},
		"Slate\nmed swing 140 bpm, in Bb":                                        {"Slate", "Bb", "4/4", 140},
		"Slate, around 120":                                                      {"Slate", "", "4/4", 120},
		"Slate\nnot too fast, about 96":                                          {"Slate", "", "4/4", 96},
		"a minor slate of mine":                                                  {"a minor slate of mine", "", "4/4", 0},
	} {
		t.Run(text, func(t *testing.T) {
			s, faults := chart.Read(text + "\n\n| C | F | G7 | C |\n")
			assert.Empty(t, faults)
			assert.Equal(t, want.title, s.Title)
			assert.Equal(t, want.tempo, s.Tempo)
			assert.Equal(t, want.meter, s.Meter.String())
			key := ""
			if s.Key != nil {
				key = s.Key.String()
			}
			assert.Equal(t, want.key, key)
		})
	}
}
