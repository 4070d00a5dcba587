package musicxml

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/harmony/tune"
)

// TestBombs has compressed files that unpack to more than any score is, or lie
// about it.
func TestBombs(t *testing.T) {
	if testing.Short() {
		t.Skip("packs 60 MB")
	}
	bomb := zipped(t, "META-INF/container.xml", container, "a.xml", strings.Repeat(" ", 60<<20))
	assert.Less(t, len(bomb), 1<<20)
	_, _, err := Read(bomb, low, high)
	assert.ErrorContains(t, err, "a.xml unpacks to more than 48 MB and is refused")

	// The same, with a directory that says it is small.
	lie := bytes.Clone(bomb)
	size := []byte{0, 0, 0xc0, 3} // 60 MB, little-endian, in both headers
	require.GreaterOrEqual(t, bytes.Count(lie, size), 1)
	lie = bytes.ReplaceAll(lie, size, []byte{0, 1, 0, 0})
	_, _, err = Read(lie, low, high)
	assert.Error(t, err)

	many := []string{"META-INF/container.xml", container}
	for i := range maxFiles {
		many = append(many, fmt.Sprint(i), "")
	}
	_, _, err = Read(zipped(t, many...), low, high)
	assert.ErrorContains(t, err, "at most 1000")
}

func TestCompressedSaysWhatIsWrong(t *testing.T) {
	for want, data := range map[string][]byte{
		"holds no META-INF/container.xml":          zipped(t, "a.xml", "<a/>", "b.musicxml", "<b/>"),
		"no META-INF/container.xml; give a comp":   zipped(t, "a.txt", "a"),
		`the document is a "b"; give MusicXML`:     zipped(t, "b.xml", "<b/>"),
		"META-INF/container.xml names no document": zipped(t, "META-INF/container.xml", "<container/>"),
		"the compressed file holds no a.xml":       zipped(t, "META-INF/container.xml", container),
		"META-INF/container.xml: XML syntax error": zipped(t, "META-INF/container.xml", "<container>"),
		`the document is a "score"; give MusicXML`: zipped(t, "META-INF/container.xml", container, "a.xml", "<score/>"),
	} {
		_, _, err := Read(data, low, high)
		assert.ErrorContains(t, err, want)
	}
}

// Files that say what no chord, no length and no score is: each is read, or refused in
// plain words, and takes no memory to speak of.
func TestScoresThatAreNone(t *testing.T) {
	degree := func(value, alter, kind string) string {
		return "<harmony><root><root-step>C</root-step></root><kind>dominant</kind>" + strings.Repeat("<degree><degree-value>"+value+"</degree-value><degree-alter>"+alter+
			"</degree-alter><degree-type>"+kind+"</degree-type></degree>", 200) + "</harmony>"
	}
	for _, kind := range []string{"add", "alter", "subtract"} {
		for _, value := range []string{"-1", "0", "1", "5", "7", "9", "13", "14", "200", "x"} {
			for _, alter := range []string{"-99", "-2", "-1", "0", "2", "99", "127", "x"} {
				_, _, err := Read([]byte(document("<measure>"+start(4, 4, "")+degree(value, alter, kind)+n("C3", 8)+"</measure>")), low, high)
				if value == "x" {
					require.ErrorContains(t, err, `found "x" where a number is due`)
					continue
				}
				require.NoError(t, err, "%s %s %s", kind, value, alter)
			}
		}
	}
	for _, divisions := range []string{"0", "-1", "1e308", "NaN", "Inf", "x"} {
		none := "<measure><attributes><divisions>" + divisions + "</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>" + n("C3", 4) + "</measure>"
		_, _, err := ReadOver([]byte(document(none)), Chords{Proposed: true}, low, high)
		if err != nil {
			assert.NotContains(t, err.Error(), "runtime", divisions)
		}
	}
	_, _, err := Read([]byte("<score-partwise>"+strings.Repeat("<a>", 150_000)), low, high)
	assert.EqualError(t, err, "over 100000 elements lie within one another: this is no score")
	deep := strings.Repeat("<a>", 90_000) + strings.Repeat("</a>", 90_000) + strings.Repeat("<a/>", 300_000)
	_, _, err = Read([]byte(document("<measure>"+start(4, 4, "")+h("C", "major")+n("C3", 8)+deep+"</measure>")), low, high)
	assert.NoError(t, err)
	locked := zipped(t, "META-INF/container.xml", container, "a.xml", "x")
	for i := range locked { // the method of each file, 99 for AES (APPNOTE.TXT 4.4.5)
		if bytes.HasPrefix(locked[i:], []byte("PK\x01\x02")) {
			locked[i+10] = 99
		}
	}
	_, _, err = Read(locked, low, high)
	assert.EqualError(t, err, "META-INF/container.xml is compressed in a way that is not read; save it again as .mxl or as plain .musicxml")
	_, _, err = Read([]byte("PK"), low, high)
	assert.EqualError(t, err, "this looks like compressed MusicXML but cannot be unpacked: it is damaged; save it again")
}

// A compressed file without the container that MusicXML 4.0 requires is read where it
// holds one score, whatever else lies in it, and that is told.
func TestCompressedWithoutAContainer(t *testing.T) {
	score := document("<measure>" + start(4, 4, "") + h("C", "major") + n("C3", 8) + "</measure>")
	want, losses, err := Read([]byte(score), low, high)
	require.NoError(t, err)
	for _, name := range []string{"score.xml", "in/a/folder.MUSICXML"} {
		got, told, err := Read(zipped(t, "mimetype", "application/vnd.recordare.musicxml", "__MACOSX/._score.xml", "\x00\x05", name, score, "cover.png", "x"), low, high)
		require.NoError(t, err)
		assert.Equal(t, want, got)
		require.Len(t, told, len(losses)+1)
		assert.Contains(t, told[len(losses)].What, "lacks META-INF/container.xml")
	}
	tn, _ := content.Tune("short-ladder")
	written, err := Write(tn, Options{Range: tune.Within(low, high)})
	require.NoError(t, err)
	got, told, err := Read(zipped(t, "a.musicxml", string(written)), low, high)
	require.NoError(t, err)
	assert.Equal(t, tune.Write(tn), tune.Write(got), "the program's own")
	assert.Len(t, told, 1)
}
