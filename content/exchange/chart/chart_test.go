package chart_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content/exchange/chart"
	"footfall/harmony/tune"
)

// lengths are the doubts about how many bars there are, which have a test of their own.
var lengths = regexp.MustCompile(`has \d+ bars?$`)

// played reads a chart and returns its bars in playing order.
func played(t *testing.T, text string) (bars string, tn *tune.Tune, doubts []string) {
	t.Helper()
	s, faults := chart.Read(text)
	require.Empty(t, faults)
	tn, losses := s.Tune(40, 60)
	for _, l := range losses {
		if l.Doubt && !lengths.MatchString(l.What) {
			doubts = append(doubts, l.String())
		}
	}
	var out []string
	for _, b := range tn.Unroll() {
		out = append(out, tune.ChordCell(b.Bar.Chords))
	}
	back, faults := tune.Read(tune.Write(tn))
	require.Empty(t, faults, tune.Write(tn))
	require.Equal(t, tune.Write(tn), tune.Write(back))
	return strings.Join(out, " | "), tn, doubts
}

// TestTypedCharts reads charts as people type them. The ways of writing are common
// practice, no source; the progressions are invented or common.
func TestTypedCharts(t *testing.T) {
	for name, c := range map[string]struct {
		text, want string
		// doubts is how many doubts are told.
		doubts int
	}{
		"barred":                         {"| Dm7 | G7 | Cmaj7 | % |\n", "Dm7 | G7 | Cmaj7 | Cmaj7", 0},
		"no outer bar lines":             {"Dm7 | G7 | C", "Dm7 | G7 | C", 0},
		"a chord a bar":                  {"Dm7 G7 Cmaj7 %\n", "Dm7 | G7 | Cmaj7 | Cmaj7", 0},
		"holds":                          {"Dm7 G7 | C . . A7 | / D7 | G7 / C /", "Dm7 G7 | C . . A7 | A7 D7 | G7 C", 0},
		"dashes between chords":          {"C - Am - F - G", "C | Am | F | G", 0},
		"dashes glued":                   {"C-Am-F-G7", "C | Am | F | G7", 0},
		"dashes and minor dashes":        {"A-7 - D7 - Gmaj7", "A-7 | D7 | Gmaj7", 0},
		"glued with minor dashes":        {"A-7-D7-G", "A-7 | D7 | G", 0},
		"dashes within bars":             {"| C - Am | F - G |", "C Am | F G", 0},
		"dashes as beats":                {"| C - - G7 | F - C - |", "C . . G7 | F C", 0},
		"en dashes":                      {"C – Am – F – G", "C | Am | F | G", 0},
		"arrows":                         {"Dm7 -> G7 → C", "Dm7 | G7 | C", 0},
		"commas":                         {"C, Am, F, G", "C | Am | F | G", 0},
		"commas without spaces":          {"Dm7,G7,C7(b9,13),F", "Dm7 | G7 | C7(b9,13) | F", 0},
		"slash beats":                    {"C / / / F / / / G / / / C / / /", "C | F | G | C", 0},
		"slash beats, two a bar":         {"C / G / Am / F /", "C G | Am F", 0},
		"slashes glued":                  {"| Dm7/// | G7/// | C/ A7/ |", "Dm7 | G7 | C A7", 0},
		"in three":                       {"3/4\n| C | Am | F / G |", "C | Am | F . G", 0},
		"in three, beats":                {"3/4\nC / / F / G", "C | F . G", 0},
		"x2 at the end of a line":        {"| C | F | x2\n| G | C |", "C | F | C | F | G | C", 0},
		"(x2)":                           {"C F G C (x2)", "C | F | G | C | C | F | G | C", 0},
		"2x":                             {"| C | F | 2x", "C | F | C | F", 0},
		"repeat marks":                   {"|: C | G :| F | C |", "C | G | C | G | F | C", 0},
		"repeat marks and times":         {"|: C | G :| x3", "C | G | C | G | C | G", 0},
		"double bars in repeats":         {"||: C | G :|| F | C ||", "C | G | C | G | F | C", 0},
		"a repeat without its start":     {"C | G :| F | C |", "C | G | C | G | F | C", 0},
		"endings":                        {"|: C | F |1. G | C :|2. G7 | C6 |", "C | F | G | C | C | F | G7 | C6", 0},
		"endings with a space":           {"|: C | F | 1. G :| 2. C |]", "C | F | G | C | F | C", 0},
		"endings in brackets":            {"|: C | F |[1 G :|[2 C ]|", "C | F | G | C | F | C", 0},
		"endings on their own lines":     {"|: C | F |\n1. G | C :|\n2. G7 | C6 |", "C | F | G | C | C | F | G7 | C6", 0},
		"three passes":                   {"|: C |1,2. F :|3. G |", "C | F | C | F | C | G", 0},
		"one ending only":                {"|: C | F |1. G :| C |", "C | F | G | C | F | C", 1},
		"final bar":                      {"| C | F | G7 | C |]", "C | F | G7 | C", 0},
		"title, key, tempo":              {"Title: Brass Kettle\nKey: F\nTempo: 132\n| F | C7 |", "F | C7", 0},
		"all in one line":                {"Title: Brass Kettle  Key: F  Tempo: 132\nF C7", "F | C7", 0},
		"comments":                       {"// a chart\n# and more\nC F // to the end\nG C # home\n", "C | F | G | C", 0},
		"optional chords":                {"| Cmaj7 (A7) | Dm7 G7 |", "Cmaj7 A7 | Dm7 G7", 1},
		"simile as dots":                 {"| C7 | ./. | F7 | ./. |", "C7 | C7 | F7 | F7", 0},
		"simile of two bars":             {"| Dm7 | G7 | .//. | C |", "Dm7 | G7 | Dm7 | G7 | C", 0},
		"spaces in symbols":              {"C maj7 | A m7 | D m7 b5 | G 7 b9 | F sus 4", "Cmaj7 | Am7 | Dm7b5 | G7b9 | Fsus4", 0},
		"spaces in symbols, no bars":     {"C maj7 A min7 D min7 G7", "Cmaj7 | Amin7 | Dmin7 | G7", 0},
		"minor in words":                 {"C major, A minor, D minor 7, G7", "Cmaj | Am | Dm7 | G7", 0},
		"bar numbers":                    {"1 | C | F |\n3 | G | C |", "C | F | G | C", 0},
		"bar numbers with dots":          {"1. C F G C\n5. F F C C", "C | F | G | C | F | F | C | C", 0},
		"bar numbers in bars":            {"| 1 C | 2 F | 3 G | 4 C |", "C | F | G | C", 0},
		"bars 1-4":                       {"bars 1-4: C F G C\nbars 5-8: F C G C", "C | F | G | C | F | C | G | C", 0},
		"sections with colons":           {"A: | C | F |\nB: | G | C |\n", "C | F | G | C", 0},
		"sections in brackets":           {"[Verse]\nC F\n[Chorus]\nG C\n[Verse]\n[Chorus]\n", "C | F | G | C | C | F | G | C", 0},
		"a section twice":                {"[Verse x2]\nC F\n[Chorus]\nG C", "C | F | C | F | G | C", 0},
		"words as sections":              {"Intro\nC F\nVerse 1\nG C\nOutro:\nC", "C | F | G | C | C", 0},
		"letters before bars":            {"A | C | F |\n  | G | C |\nB | F | G |\n  | C | C |", "C | F | G | C | F | G | C | C", 0},
		"a form":                         {"Form: AABA\nA: C F\nB: G C", "C | F | C | F | G | C | C | F", 0},
		"D.C.":                           {"| C | F | Fine\n| G | C | D.C. al Fine", "C | F | G | C | C | F", 0},
		"D.C. in a bar":                  {"| C | F Fine | G | C D.C. al Fine |", "C | F | G | C | C | F", 0},
		"D.C. alone":                     {"| C | F | G | C |\nD.C.", "C | F | G | C | C | F | G | C", 1},
		"D.C. al Coda":                   {"| C | F | To Coda\n| G | C | D.C. al Coda\nCoda\n| Am | C |", "C | F | G | C | C | F | Am | C", 0},
		"D.S.":                           {"| C | Segno | F | G | D.S.", "C | F | G | F | G", 1},
		"D.C. without repeats":           {"|: C | F :| G | D.C. al Fine\n", "C | F | C | F | G | C | F | G", 1},
		"small letters for minor":        {"a F C G", "Am | F | C | G", 1},
		"small letters and sevenths":     {"d7 G7 C a7", "Dm7 | G7 | C | Am7", 1},
		"small letters all through":      {"dm7 g7 cmaj7 am7", "Dm7 | G7 | Cmaj7 | Am7", 0},
		"small basses":                   {"C/e Am/g", "C/E | Am/G", 0},
		"no chord":                       {"| NC | n.c. | C | tacet |", "N.C. | N.C. | C | N.C.", 0},
		"a pipe of another kind":         {"│ C │ F │", "C | F", 0},
		"an empty bar":                   {"| C | | F | |", "C | C | F | F", 2},
		"words under the chords":         {"C        F\nwalking along by the water\nG        C\nback to the mill and the lane\n", "C | F | G | C", 0},
		"a title alone":                  {"Cellar Stairs\n\nDm7 G7\nC C", "Dm7 | G7 | C | C", 0},
		"a title and a feel":             {"Cellar Stairs\nMedium swing, 126 bpm\n| Dm7 G7 | C |", "Dm7 G7 | C", 0},
		"a waltz":                        {"Cellar Stairs\nwaltz in G\n| G | D7 |", "G | D7", 1},
		"wide gaps":                      {"Dm7 G7    Cmaj7    Dm7 G7    Cmaj7", "Dm7 G7 | Cmaj7 | Dm7 G7 | Cmaj7", 1},
		"a table":                        {"C      F      C      C7\nF      F      C      A7", "C | F | C | C7 | F | F | C | A7", 0},
		"tabs":                           {"C\tF\tC\tC7", "C | F | C | C7", 0},
		"meters within":                  {"| C | 3/4 F | 4/4 G |", "C | F | G", 0},
		"times for a known section":      {"[A]\nC F\n[B]\nG C\n[A x2]\n", "C | F | G | C | C | F | C | F", 0},
		"repeat on its own line":         {"C F G C\n(x2)\n", "C | F | G | C | C | F | G | C", 1},
		"a rule below the title":         {"Cellar Stairs\n=============\nC F", "C | F", 0},
		"windows lines and a mark":       {"\ufeff| C | F |\r\n| G | C |\r\n", "C | F | G | C", 0},
		"sharps apart from comments":     {"F#m7 | B7  # turn\nE | A # home", "F#m7 | B7 | E | A", 0},
		"alterations in parentheses":     {"G7(b9) | C7 (b9) | F", "G7(b9) | C7(b9) | F", 0},
		"an aside in parentheses":        {"| C | F (softly) | G |", "C | F | G", 0},
		"similes alone in a line":        {"Am6 ./. ./. ./.\nDm6 ./. Am6 ./.", "Am6 | Am6 | Am6 | Am6 | Dm6 | Dm6 | Am6 | Am6", 0},
		"dashes as beats, no bar lines":  {"C - - - F - - -\nG - - - C - - -", "C | F | G | C", 0},
		"tabs and a bar of two":          {"C\tAm\tF\tG\nC\tAm\tF G\tC", "C | Am | F | G | C | Am | F G | C", 1},
		"a table below wide gaps":        {"Cmaj7      Em7 A7     Dm7     G7\nCmaj7      Em7 A7     Dm7 G7  C6", "Cmaj7 | Em7 A7 | Dm7 | G7 | Cmaj7 | Em7 A7 | Dm7 G7 | C6", 2},
		"thirds of a bar of four":        {"| C / G | F |", "C . G | F", 1},
		"times of a section each time":   {"[A] 2x\nC F\n[B]\nG\n[A] 2x", "C | F | C | F | G | C | F | C | F", 0},
		"times behind a word":            {"VERSE\n| C | F |\nCHORUS 2x\n| G | C |", "C | F | G | C | G | C", 0},
		"times behind a letter":          {"A (2x):\nC | F\nB: G", "C | F | C | F | G", 0},
		"times glued to a repeat":        {"| G |\n|: C | F :|x3\n| G |", "G | C | F | C | F | C | F | G", 0},
		"times before the bars":          {"2x | C | F |\n| G |", "C | F | C | F | G", 0},
		"times behind an arrow":          {"| C | F | <- play this twice\n| G |", "C | F | C | F | G", 0},
		"times of each chord":            {"Em x4 C x2 D x2\n| Am x2 | E |", "Em | Em | Em | Em | C | C | D | D | Am | Am | E", 3},
		"times in a form":                {"Order: Intro, Verse 1 x2, Intro\nIntro: C\nVerse 1: F G", "C | F | G | F | G | C", 0},
		"a structure":                    {"Structure: A A B A\nA: C\nB: F", "C | C | F | C", 0},
		"a letter again":                 {"A: | C | F |\nA\nB: | G |\nA", "C | F | C | F | G | C | F", 2},
		"a numbered letter again":        {"A1: | C | F |\nB: | G |\nA1", "C | F | G | C | F", 0},
		"as another section":             {"Intro\nC F\nVerse 1\n(same as intro)\nOutro: as the intro", "C | F | C | F | C | F", 0},
		"a second verse without chords":  {"Verse 1\nC F\nChorus\nG C\nVerse 2\nChorus", "C | F | G | C | C | F | G | C", 1},
		"a name of its own":              {"Hook:\nAm F\nDrop: C G", "Am | F | C | G", 0},
		"a length in parentheses":        {"A section (8 bars)\nC | F\nB section\nG", "C | F | G", 1},
		"a remark in parentheses":        {"C, F, G (4 bars each line)\nC", "C | F | G | C", 1},
		"a word between lines":           {"| C | F |\nthen\n| G |\nand then\n| C |", "C | F | G | C", 0},
		"dots at the end":                {"C F\nG...", "C | F | G", 1},
		"a slash between phrases":        {"C F G C / F G C C", "C | F | G | C | F | G | C | C", 1},
		"dashes in words to sing":        {"C F\nrun - ning\nso ... long\nG C", "C | F | G | C", 0},
		"a title with a colon":           {"Postcards: A waltz of mine\n3/4\nC F", "C | F", 0},
		"bars in capitals":               {"Bars 1-4: C F G C\nBars 5-6: F C", "C | F | G | C | F | C", 1},
		"slashes between bars":           {"Dm7 G7 / C / Am7 / Dm7 G7", "Dm7 G7 | C | Am7 | Dm7 G7", 1},
		"slashes between chords":         {"A: Em7 / A7 / Em7 / A7", "Em7 | A7 | Em7 | A7", 1},
		"a slash before repeat":          {"Bb6 / Gm7 / Cm7 / F7 / repeat", "Bb6 | Gm7 | Cm7 | F7 | Bb6 | Gm7 | Cm7 | F7", 1},
		"commas between bars":            {"C, A7, Dm7 G7, C", "C | A7 | Dm7 G7 | C", 1},
		"then":                           {"Em - C (x2), then Am - D", "Em | C | Em | C | Am | D", 1},
		"cut short names":                {"Intro | C |\nV1\n| F | G |\nCh\n| Am | F |\nV2\nCh", "C | F | G | Am | F | F | G | Am | F", 1},
		"cut short before bars":          {"V1 | C | F |\nCh | G | C |", "C | F | G | C", 0},
		"a name and a dash":              {"Verse – C | F ×2\nChorus = G | C", "C | F | C | F | G | C", 0},
		"a known name again":             {"Drop: C G\nA7\nDrop", "C | G | A7 | C | G | A7", 1},
		"a letter behind line":           {"Line A  | C | F |\nLine B | G | C |", "C | F | G | C", 0},
		"a letter behind part":           {"Part A  Dm Gm\nPart B  F C\nPart A", "Dm | Gm | F | C | Dm | Gm", 0},
		"names in words":                 {"Verse one:\nC G\nLast Chorus\nF C", "C | G | F | C", 0},
		"numbers before names":           {"1. Strophe: C F\n2. Strophe: G C", "C | F | G | C", 0},
		"once after twice":               {"[A] x2\nC | F\n[B]\nG\n[A]", "C | F | C | F | G | C | F", 1},
		"a form of what is twice":        {"Form: AB\nA x2: C\nB: G", "C | C | G", 1},
		"a list":                         {"* Title: Slate\n* Key: Em\n* Form: Verse, Chorus, Verse\n\nVerse: Em | C\nChorus: G", "Em | C | G | Em | C", 0},
		"a list of lines":                {"- C A7 Dm7 G7\n- C Eb7 Dm7 Db7", "C | A7 | Dm7 | G7 | C | Eb7 | Dm7 | Db7", 0},
		"bars of each chord":             {"E9 (2 bars)\nA9 (1 bar), E9 (2 bars)\n2 bars C\nB7 | E9", "E9 | E9 | A9 | E9 | E9 | C | C | B7 | E9", 0},
		"H for B":                        {"e | a | H7 | e", "Em | Am | B7 | Em", 2},
		"H and B":                        {"H7 E H7 B", "B7 | E | B7 | Bb", 1},
		"a form of names below":          {"Verse: G D\nChorus: C D\n\nVerse Verse Chorus", "G | D | G | D | C | D", 0},
		"a form of initials":             {"Verse: G D\nChorus: C D\nOrder: V V C", "G | D | G | D | C | D", 0},
		"a form in a word below":         {"A: C F\nB: G\nplay AABA", "C | F | C | F | G | C | F", 0},
		"by whom":                        {"Tune: Slate\nby me\nC F", "C | F", 0},
		"letters and lengths":            {"A (4 bars)\nC F G C\nB (2 bars)\nF G", "C | F | G | C | F | G", 0},
		"a length of a chord":            {"Intro: C (2 bars)\nVerse: F G", "C | C | F | G", 0},
		"hooks and no H":                 {"Hook: C G\nVerse: Am B7\nHook: C", "C | G | Am | B7 | C", 0},
		"a numbered bar a line":          {"1. C\n2. Dm7 G7\n3. Em7 A7\n4. C", "C | Dm7 G7 | Em7 A7 | C", 0},
		"numbered without signs":         {"1 Dm7 G7\n2 C\n3 Dm7 / / G7", "Dm7 G7 | C | Dm7 . . G7", 0},
		"numbered, two in each":          {"1: Dm7 G7\n2: Em7 A7\n3: Dm7 G7", "Dm7 G7 | Em7 A7 | Dm7 G7", 1},
		"numbered lines of four":         {"1. C Am F G\n2. F G C C\n3. C F G C", "C | Am | F | G | F | G | C | C | C | F | G | C", 2},
		"a pickup":                       {"Pickup: G7\nA: C F\nB: G C", "G7 | C | F | G | C", 1},
		"a pickup in parentheses":        {"Anacrusis: (G7)\nA: C F", "G7 | C | F", 2},
		"a letter that is a chord":       {"(C) F | G", "C F | G", 1},
		"letters in parentheses":         {"(A) Dm | Gm\n(B) C | F", "Dm | Gm | C | F", 0},
		"dashes as beats, in three":      {"3/4\n| C - - | F - G |", "C | F . G", 0},
		"a dash between, in three":       {"3/4\n| C - F | G |", "C . F | G", 1},
		"times and a remark":             {"|: C | F :| (3 times, last time softly)", "C | F | C | F | C | F", 0},
		"times before, then":             {"2x: C F\nthen G C", "C | F | C | F | G | C", 0},
		"a repeat cut short":             {"C F\nrpt\nG", "C | F | C | F | G", 2},
		"in three, in words":             {"In 3\n| C | F |", "C | F", 1},
		"a tempo from and to":            {"Tempo: 88-92\nC F", "C | F", 1},
		"a tempo in 6/8":                 {"6/8\nTempo: 60\nC F", "C | F", 1},
		"a tempo in 6/8, noted":          {"6/8\nq. = 60\nC F", "C | F", 0},
		"braces around chords":           {"{Gm7 C7} x3 F6", "Gm7 | C7 | Gm7 | C7 | Gm7 | C7 | F6", 0},
		"brackets around bars":           {"A: [Am | G] x2\nB: [C | G]", "Am | G | Am | G | C | G", 1},
		"brackets around a line":         {"[Am F C G]\n[| C | F |]", "Am | F | C | G | C | F", 1},
		"a form in the first line":       {"Rusty Gate, AABA, 8 bars each\nA: C\nB: F", "C | C | F | C", 1},
		"a form and a feel":              {"AABA, medium swing, 120\nA: C\nB: F", "C | C | F | C", 1},
		"the form alone":                 {"AABA\nA: C\nB: F", "C | C | F | C", 0},
		"numbered in each section":       {"Verse\n1. C\n2. F G\nChorus\n1. G\n2. C C7", "C | F G | G | C C7", 0},
		"numbered letters, then another": {"A1\n| C | F |\nA2\n| C | G |\nB\n| Am | D |", "C | F | C | G | Am | D", 0},
		"a part before, cut short":       {"Verse - C F\nPre - Dm Am Dm E", "C | F | Dm | Am | Dm | E", 0},
		"two marks for the same again":   {"C F\n\"\" G", "C | F | C | G", 1},
		"a chord in words at the end":    {"C F G C\nA minor", "C | F | G | C | Am", 1},
		"a key in words":                 {"D minor\n| Dm | A7 |", "Dm | A7", 0},
		"quoted in an answer":            {"> Subject: changes\n>\n> | C | F |\n> | G | C |", "C | F | G | C", 0},
		"the rule of a table":            {"| C | F |\n|---|---|\n| G | C |", "C | F | G | C", 0},
		"numbers over bars":              {"| 1 | 2 |\n| C | F |", "C | F", 0},
		"chords in words to sing":        {"[Am]cold was the [F]water\n[C]slow was the [G]mill", "Am | F | C | G", 1},
		"sections on one line":           {"[Intro] Am G [Verse] Am Dm", "Am | G | Am | Dm", 0},
		"sections that repeat":           {"Slow riff = Em G (x2)\nC D", "Em | G | Em | G | C | D", 0},
		"endings before their bar lines": {"|: C | F [1 | G :| [2 | C |]", "C | F | G | C | F | C", 0},
		"repeats in signs of music":      {"𝄆 C | F 𝄇 | G | C |", "C | F | C | F | G | C", 0},
		"a repeat and no bar lines":      {"C Em F G :|\nAm F", "C | Em | F | G | C | Em | F | G | Am | F", 2},
		"the end left open":              {"C | F | G | etc.", "C | F | G", 0},
		"a foot note":                    {"| C | G7* |\n* or G13", "C | G7", 0},
		"another chord instead":          {"Dm7 (or F6) | G7 | C", "Dm7 | G7 | C", 0},
		"numerals":                       {"Key of D: I vi ii V | iii VI7 ii-7 V7", "D Bm Em A | F#m B7 E-7 A7", 2},
		"numerals in minor":              {"Key: Dm\ni | iv | VI | V7 | bVII | viio7", "Dm | Gm | Bb | A7 | C | C#o7", 0},
		"numerals below their key":       {"Bb: I IV | V7 I\n", "Bb Eb | F7 Bb", 0},
		"figures":                        {"Key: A\n1 4 1 5\n6- 4 5/7 1", "A | D | A | E | F#- | D | E/G# | A", 1},
		"plain figures":                  {"in G\n1 6 2 5", "G | Em | Am | D", 1},
		"figures behind their key":       {"in G: 1 6- | 2- 5", "G E- | A- D", 1},
		"German roots":                   {"Tonart: E-Dur\nE | Cism | Fism7 | H7", "E | C#m | F#m7 | B7", 1},
		"beats and chords glued":         {"G7///|C7///|G7/E7/|", "G7 | C7 | G7 E7", 0},
		"slashes before and behind":      {"/ Dm7 / G7 / C /", "Dm7 | G7 | C", 1},
		"a number of bars in brackets":   {"F (4)\nC7 (2) F (2)", "F | F | F | F | C7 | C7 | F | F", 2},
		"bars of each, with a sign":      {"C7 ~ 2 bars\nF7 ~ 1 bar", "C7 | C7 | F7", 0},
		"numbers in parentheses":         {"(1) Gm (2) Eb (3) Cm (4) D7", "Gm | Eb | Cm | D7", 0},
		"chords to a bar":                {"C F G C\n(two chords per bar)", "C F | G C", 1},
		"the bar above":                  {"C | F | G\n\" | \" | C", "C | F | G | C | F | C", 2},
		"mail and links":                 {"C | F\nFrom: Lena\nhttps://example.org/x", "C | F", 0},
		"the time of day":                {"0:00 Intro C F\n0:14 Verse G C", "C | F | G | C", 0},
		"said on a line":                 {"C F G C\n(let it ring)\nvamp on C\nEND ON C", "C | F | G | C | C", 1},
		"times by name":                  {"1st time: Am | F\n2nd time: Am | E7", "Am | F | Am | E7", 0},
		"a bar of commas":                {"key - G\n\nG,G,C,G\nAm,D7,G,D7", "G | G | C | G | Am | D7 | G | D7", 0},
		"unequal lines of words to sing": {"C G\nalong by the water\nF C G\nback to the mill", "C | G | F | C | G", 1},
		"a single bar as often as said":  {"Intro 2 bars: C\nVerse (2 bars): F G", "C | C | F | G", 1},
		"a length that is not so":        {"Verse 4 bars: F G", "F | G", 1},
		"dashes and a slash":             {"C - F - G / C - F - C", "C | F | G | C | F | C", 1},
		"two chords between dashes":      {"Em - Em/D - C B7 - Em", "Em | Em/D | C B7 | Em", 1},
		"a bar a line":                   {"C\nAm\nF\nG\nF G\nC", "C | Am | F | G | F G | C", 1},
		"in the same columns":            {"KEY Am  TEMPO 140\nAm  Am  G  G\nF   F   E7 E7", "Am | Am | G | G | F | F | E7 | E7", 0},
		"a tempo behind the chords":      {"Am-F-C-G @ 124 BPM, loop x2", "Am | F | C | G | Am | F | C | G", 0},
		"from the top":                   {"C | F\n*repeat from top, then:*\nG", "C | F | C | F | G", 1},
		"twice, in parentheses":          {"Chorus (twice)\nC | F\nBridge\nG", "C | F | C | F | G", 0},
		"a style and a key":              {"Tango, Am\n\nAm | E7", "Am | E7", 0},
		"numbered letters before bars":   {"A1 | C | F |\nA2 | C | G |\nB | Am | D |\nA2", "C | F | C | G | Am | D | C | G", 1},
		"a length alone in parentheses":  {"Section A (2)\n| C | F |", "C | F", 0},
		"a heading of remarks":           {"C F\n\nNOTES\ntake it easy", "C | F", 0},
		"two verses in one":              {"V1/V2:\nC F\nCh:\nG C", "C | F | G | C", 1},
		"letters before bars, twice":     {"A | Cm | F7 | x2\nB | Gm | D7 |\n  | G | C |", "Cm | F7 | Cm | F7 | Gm | D7 | G | C", 0},
		"a chord before the bar lines":   {"| C | F |\nG | Am | F | C |", "C | F | G | Am | F | C", 1},
		"regards":                        {"| C | F |\n\ncheers, Ann", "C | F", 0},
		"bars of each, before it":        {"2 bars C, 1 bar of F, then 2 bars G", "C | C | F | G | G", 0},
		"slash basses in a barred line":  {"| C/E F | G/B C |", "C/E F | G/B C", 0},
	} {
		t.Run(name, func(t *testing.T) {
			bars, _, doubts := played(t, c.text)
			assert.Equal(t, c.want, bars)
			assert.Len(t, doubts, c.doubts, doubts)
		})
	}
}

func TestHeaders(t *testing.T) {
	_, tn, _ := played(t, "Title: Brass Kettle\nKey: Bb minor\nTempo: 132 bpm\n3/4\nFeel: swing\n| Bbm | F7 |")
	assert.Equal(t, "Brass Kettle", tn.Title)
	assert.Equal(t, "Bbm", tn.Key.String())
	assert.Equal(t, 132.0, tn.Tempo)
	assert.Equal(t, "3/4", tn.Meter.String())
	assert.Equal(t, tune.Ratio{Long: 2, Short: 1}, tn.Swing.Ratio)
	_, tn, _ = played(t, "Brass Kettle\nMedium swing (♩ = 126), key of E flat, 4/4\n| Eb | Bb7 |")
	assert.Equal(t, "Brass Kettle", tn.Title)
	assert.Equal(t, "Eb", tn.Key.String())
	assert.Equal(t, 126.0, tn.Tempo)
	_, tn, _ = played(t, "| C | 3/4 F | F | 4/4 G |")
	require.Len(t, tn.Sections, 3)
	assert.Equal(t, tune.Meter{Upper: 3, Lower: 4}, tn.Sections[1].Meter)
}

// TestFirstLines has titles with what is said behind them. That a half note is two
// quarters long and a dotted quarter one and a half is common practice.
func TestFirstLines(t *testing.T) {
	for text, want := range map[string]struct {
		title string
		tempo float64
		key   string
	}{
		"\"Rusty Gate\" - medium swing, 112": {"Rusty Gate", 112, "C"},
		"Rusty Gate (bossa, 128)":            {"Rusty Gate", 128, "C"},
		"Rusty Gate (AABA)":                  {"Rusty Gate", 0, "C"},
		"e minor, 4/4, 100bpm":               {"", 100, "Em"},
		"E-flat major, 4/4":                  {"", 0, "Eb"},
		"Rusty Gate (D minor, swing)":        {"Rusty Gate", 0, "Dm"},
		"Rusty Gate, swing":                  {"Rusty Gate", 0, "C"},
		"Rusty Gate - Key: Eb - 92bpm - 4/4": {"Rusty Gate", 92, "Eb"},
		"Rusty Gate, shuffle @ 100":          {"Rusty Gate", 100, "C"},
		"One, Two, Three (swing, 140)":       {"One, Two, Three", 140, "C"},
		"Rusty Gate 1950":                    {"Rusty Gate 1950", 0, "C"},
		"Rusty Gate, 116":                    {"Rusty Gate, 116", 0, "C"},
		"Swing, 140":                         {"", 140, "C"},
		"In F major, 120":                    {"", 120, "F"},
		"quarter = 76":                       {"", 76, "C"},
		"Tempo: 60 (half note)":              {"", 120, "C"},
		"4/4 time. Key: A minor. Tempo: 84.": {"", 84, "Am"},
		"Key: A minor, Tempo: 84":            {"", 84, "Am"},
		"half note = 60":                     {"", 120, "C"},
		"half time feel, 120 bpm":            {"", 120, "C"},
		"dotted quarter = 60":                {"", 90, "C"},
		"♩. = 60":                            {"", 90, "C"},
		"♩ = 60":                             {"", 60, "C"},
		"Title: Rusty Gate | Tempo: 84":      {"Rusty Gate", 84, "C"},
		"Em, 4/4, ♩ = 60":                    {"", 60, "Em"},
		"Tpo 112. Key Gm.":                   {"", 112, "Gm"},
		"{title: Rusty Gate} {key: D}":       {"Rusty Gate", 0, "D"},
		"[Key: Bb] [Tempo: 100]":             {"", 100, "Bb"},
		"Tonart: a-Moll":                     {"", 0, "Am"},
		"h-Moll":                             {"", 0, "Bm"},
		"Working title: Rusty Gate":          {"Rusty Gate", 0, "C"},
		"\"Rusty Gate\" in D minor (samba)":  {"Rusty Gate", 0, "Dm"},
		"Rusty gate in a row":                {"Rusty gate in a row", 0, "C"},
		"tempo 88 to 92":                     {"", 90, "C"},
	} {
		t.Run(text, func(t *testing.T) {
			s, faults := chart.Read(text + "\n\n| C | F | G7 | C |\n")
			require.Empty(t, faults)
			assert.Equal(t, want.title, s.Title)
			assert.Equal(t, want.tempo, s.Tempo)
			if s.Key != nil {
				assert.Equal(t, want.key, s.Key.String())
			} else {
				assert.Equal(t, want.key, "C")
			}
		})
	}
}

func TestFaults(t *testing.T) {
	_, faults := chart.Read("% | Cm7 |\n| H7 | Cm7x |\n\xff\n")
	require.Len(t, faults, 4)
	assert.Equal(t, [2]int{1, 1}, [2]int{faults[0].Line, faults[0].Column})
	assert.Equal(t, [2]int{2, 3}, [2]int{faults[1].Line, faults[1].Column})
	assert.Equal(t, [2]int{2, 8}, [2]int{faults[2].Line, faults[2].Column})
	assert.Contains(t, faults[2].Want, "in column 11 write")
	assert.Equal(t, [2]int{3, 1}, [2]int{faults[3].Line, faults[3].Column})
	for name, text := range map[string]string{
		"nothing":                     "\n \n",
		"beats that fill no bar":      "C / / F / /",
		"a bar that begins on a beat": "Dm7 G7 / / / C / /",
		"a mistyped chord":            "Dm7 G7x C",
		"a chord in braces":           "{Gm7} C7",
		"glued dashes as beats":       "C---F---G-C-F-G-",
		"small and marked letters":    "Am f C G",
		"numbers for chords":          "| IIm7 | V7 | I |",
		"degrees without a key":       "| IIm7 | V7 | I | I |",
		"a mistyped word":             "C F\nCmja\nG",
		"a key that is none":          "Key: X\nC F",
		"a repeat of nothing":         "|: :|",
	} {
		t.Run(name, func(t *testing.T) {
			_, faults := chart.Read(text)
			assert.NotEmpty(t, faults)
		})
	}
}

func TestInAnotherMeter(t *testing.T) {
	s, faults := chart.ReadWith(chart.Known{Meter: &tune.Meter{Upper: 3, Lower: 4}}, "| C . G |")
	require.Empty(t, faults)
	tn, _ := s.Tune(40, 60)
	assert.Equal(t, "C . G", tune.ChordCell(tn.Sections[0].Bars[0].Chords))
	assert.Equal(t, "3/4", tn.Meter.String())
}

// A form line that multiplies is refused before its bars take the memory.
func TestAFormWithoutAnEnd(t *testing.T) {
	_, faults := chart.Read("A: C F\nB: A x99\nOrder: " + strings.Repeat("A x99 B x99 ", 300))
	require.NotEmpty(t, faults)
	assert.Equal(t, "a form too long", faults[len(faults)-1].Found)
}

// A line without an end is refused before it is read in all the ways there are.
func TestALineThatGoesOn(t *testing.T) {
	for _, piece := range []string{"(", "C-", "Z", "C % "} {
		_, faults := chart.Read("| C |\n" + strings.Repeat(piece, 60_000))
		require.Len(t, faults, 1)
		assert.Equal(t, "line 2, column 4000: found a line that goes on; want lines of at most 4000 characters", faults[0].Error())
	}
}

// longestFuzzed is the most of an input: what is longer says the same more slowly.
const longestFuzzed = 1 << 10

func FuzzRead(f *testing.F) {
	f.Add("| Dm7 | G7 | Cmaj7 | % |")
	f.Add("[A]\n|: C . / | % :|\n\nDm7 G7  # x\r\n: | \xff")
	f.Add("Title: x  Key: Bb\nA: |: C |1. F :|2. G | x2\n[B x2]\na F (G7) D.C. al Fine\nForm: AAB")
	f.Add("2x Am x2 | F x3 | <- twice\nA (2x): C\tF G\tC\nA\nVerse 1\nsame as A\nVerse 2\nOrder: A x2, Verse 1")
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > longestFuzzed {
			return
		}
		s, faults := chart.Read(text)
		if s == nil {
			require.NotEmpty(t, faults)
			return
		}
		tn, _ := s.Tune(40, 60)
		back, faults := tune.Read(tune.Write(tn))
		require.Empty(t, faults, tune.Write(tn))
		require.Equal(t, tune.Write(tn), tune.Write(back))
	})
}

// TestInTheMiddle has marks where they are seldom written.
func TestInTheMiddle(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"a group in parentheses":        {"(Am | Dm) x2 | E7 | Am", "Am | Dm | Am | Dm | E7 | Am"},
		"a section and a group":         {"Verse (Am F) x2\nChorus (F G) 2x", "Am | F | Am | F | F | G | F | G"},
		"beats in words":                {"Dm7 (2 beats) G7 (2 beats)\nC (4 beats)", "Dm7 G7 | C"},
		"numbers before each chord":     {"1. Dm7  2. G7  3. C  4. C", "Dm7 | G7 | C | C"},
		"the form in letters":           {"A A B A\n\nA\nDm7 | G7\nB\nEm7b5 | A7", "Dm7 | G7 | Dm7 | G7 | Em7b5 | A7 | Dm7 | G7"},
		"letters on their own":          {"A\n| C | F |\nB\n| G | C |", "C | F | G | C"},
		"letters between stars":         {"**A**\nC F\n**B**\nF G", "C | F | F | G"},
		"headers without colons":        {"Tempo 120\nKey F\nCapo 2\nF C7", "F | C7"},
		"a form with a strange name":    {"Form: A C\nA: C F\nB: G", "C | F | G"},
		"a time of the part in a cell":  {"| C | F | x2 | G |", "C | F | C | F | G"},
		"a label without bars":          {"[Intro]\n[Verse]\nC F", "C | F"},
		"D.S. to its sign":              {"| C |\nSegno\n| F | G | D.S.", "C | F | G | F | G"},
		"D.C. and bars never played":    {"| C | Fine\n| F | D.C. al Fine\n| G |", "C | F | C"},
		"headers with dashes":           {"TITLE - Rusty Gate\nKEY - D minor\n| Dm | A7 |", "Dm | A7"},
		"a time in a name":              {"Intro 2x: Dm A7\nCh: Bb F", "Dm | A7 | Dm | A7 | Bb | F"},
		"the same again":                {"A: |Am7 |D7 |\nA: same\nB: |G |C |", "Am7 | D7 | Am7 | D7 | G | C"},
		"a chord before odd bars":       {"C | C#o7 | Dm7 | D#o7 | C/E |", "C | C#o7 | Dm7 | D#o7 | C/E"},
		"letters in order":              {"A | Am7 | D7 |\nA | Am7 | D7 |\nB | Em | A7 |", "Am7 | D7 | Am7 | D7 | Em | A7"},
		"words of the song, short ones": {"C G\nI walk along the wall\nF C\nslowly", "C | G | F | C"},
		"repeat in words":               {"G C D G (repeat 2x)", "G | C | D | G | G | C | D | G"},
		"a repeat on its own":           {"|C F|G C|:|", "C F | G C | C F | G C"},
		"an aside in a bar":             {"| G | C | D | (turnaround)", "G | C | D"},
		"a key of":                      {"Key of G\nTime 3/4\nG | D7", "G | D7"},
		"a tempo in words":              {"Tempo: medium\nStyle: dark\nSwing: off\nTime: common\nC F", "C | F"},
	} {
		t.Run(name, func(t *testing.T) {
			bars, _, _ := played(t, c.text)
			assert.Equal(t, c.want, bars)
		})
	}
}

// TestUnusualLengths has the numbers of bars that are told: an odd number, or without
// sections one that is none of fours. Common practice, no source.
func TestUnusualLengths(t *testing.T) {
	for text, want := range map[string]string{
		"C | F | G | C":                     "",
		"C | F":                             "",
		"C | F | G":                         "it has 3 bars",
		"C | F | G | C | F | C":             "it has 6 bars",
		"A: C | F | G | C\nB: F | G | C":    "B has 3 bars",
		"A: C | F\nB: F | G | C | C":        "",
		"A: C | F | G\nB: C\nA":             "A has 3 bars; B has 1 bar",
		"|: C | F | G |1. C :|2. F | G | C": "it has 10 bars",
	} {
		s, faults := chart.Read(text)
		require.Empty(t, faults)
		var said []string
		for _, l := range s.Told {
			if lengths.MatchString(l.What) {
				said = append(said, l.What)
			}
		}
		assert.Equal(t, want, strings.Join(said, "; "), text)
	}
}
