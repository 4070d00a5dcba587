package musicxml

import (
	"bytes"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkSymphony reads a score of 47 MB with chord symbols, 30 parts long.
func BenchmarkSymphony(b *testing.B) {
	eighth := "   <note default-x=\"12\">\n    <pitch>\n     <step>C</step>\n     <octave>3</octave>\n    </pitch>\n    <duration>1</duration>\n    <voice>1</voice>\n" +
		"    <type>eighth</type>\n    <stem>up</stem>\n    <beam number=\"1\">begin</beam>\n    <notations>\n     <slur type=\"start\" number=\"1\"/>\n    </notations>\n   </note>\n"
	bar := "  <measure>\n" + strings.Repeat(eighth, 8) + "  </measure>\n"
	bars := 47_000_000 / 30 / len(bar)
	first := "<measure>" + start(4, 4, "") + h("C", "major") + strings.Repeat(eighth, 8) + "</measure>"
	one := first + strings.Repeat(bar, bars-1)
	text := []byte("<score-partwise>" + strings.Repeat(`<part id="P1">`+one+"</part>", 30) + "</score-partwise>")
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		_, _, err := Read(text, low, high)
		require.NoError(b, err)
	}
}

const four = "<note><pitch><step>D</step><octave>3</octave></pitch><duration>1</duration></note><note><rest/><duration>1</duration></note>" +
	"<note><pitch><step>F</step><octave>3</octave></pitch><duration>1</duration></note><note><rest/><duration>1</duration></note>"

// scores are what a large score may be full of.
var scores = []string{
	`<note><pitch><step>C</step><octave>3</octave></pitch><duration>1</duration><voice>1</voice></note>`,
	`<note><rest/><duration>1</duration></note>`,
	`<note><pitch><step>C</step><octave>3</octave></pitch><duration>1</duration></note><note><chord/><pitch><step>E</step><alter>-1</alter><octave>4</octave></pitch><duration>1</duration><staff>1</staff></note>`,
	`<note><pitch><step>C</step><octave>3</octave></pitch><duration>1</duration><lyric number="1"><syllabic>single</syllabic><text>lä &amp; lu</text></lyric></note>`,
	`<note><pitch><step>C</step><octave>3</octave></pitch><duration>1</duration></note><direction placement="below"><direction-type><dynamics><p/></dynamics></direction-type></direction>`,
	`<note><pitch><step>C</step><octave>3</octave></pitch><duration>1</duration><tie type="start"/><time-modification><actual-notes>3</actual-notes></time-modification><notations><tied type="start"/><slur type="start"/><articulations><staccato/></articulations><technical><string>5</string><fret>3</fret></technical></notations></note>`,
	`<note><pitch><step>C</step><octave>3</octave></pitch><duration>2</duration></note><backup><duration>1</duration></backup>`,
	`<harmony><root><root-step>D</root-step></root><kind text="m7">minor-seventh</kind></harmony>` + four,
	`<direction placement="above"><direction-type><words default-y="20" font-style="italic">dolce</words></direction-type><sound dynamics="60"/></direction>` + four,
	`<attributes><divisions>2</divisions><key><fifths>0</fifths></key><clef><sign>F</sign><line>4</line></clef></attributes>` + four,
	`<!-- a page --><note><pitch><step>C</step><octave>3</octave></pitch><duration>1</duration><notations><fermata/></notations></note><!-- <note/> -->`,
	`<note><pitch><step>C</step><octave>3</octave></pitch><duration>1</duration><lyric><text><![CDATA[la]]></text></lyric></note>` + four,
}

// large makes the text of score i of the kinds above, of nearly 47 MB.
func large(i int) []byte {
	bar := "<measure>" + strings.Repeat(scores[i%len(scores)], 8) + "</measure>\n"
	bars := (47_000_000 - i*100_000) / 30 / len(bar)
	var text bytes.Buffer
	text.Grow(48_000_000)
	text.WriteString("<score-partwise>")
	for part := range 30 {
		fmt.Fprintf(&text, `<part id="P%d"><measure>`, part)
		text.WriteString(start(4, 4, "") + h("C", "major") + "</measure>" + strings.Repeat(bar, bars) + "</part>")
	}
	text.WriteString("</score-partwise>")
	return text.Bytes()
}

// BenchmarkSymphonies reads large scores of each kind, FOOTFALL_TEST_SCORES of them, and
// reports the slowest. Their making is not counted.
func BenchmarkSymphonies(b *testing.B) {
	files := len(scores)
	if asked, err := strconv.Atoi(os.Getenv("FOOTFALL_TEST_SCORES")); err == nil {
		files = asked
	}
	var slowest time.Duration
	for b.Loop() {
		for i := range files {
			b.StopTimer()
			document := large(i)
			b.StartTimer()
			began := time.Now()
			_, _, err := Read(document, low, high)
			took := time.Since(began)
			slowest = max(slowest, took)
			require.NoError(b, err)
			if testing.Verbose() {
				b.Logf("score %d, %d MB: %.2f s", i, len(document)/1_000_000, took.Seconds())
			}
		}
	}
	b.ReportMetric(slowest.Seconds(), "s/slowest")
}
