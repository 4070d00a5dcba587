package musicxml

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/text/encoding/ianaindex"
	"golang.org/x/text/encoding/unicode"
)

// maxBytes bounds a document, packed or not; a symphony takes a third of it.
const maxBytes = 48 << 20

// maxFiles bounds the files of a compressed document.
const maxFiles = 1000

// containerFile is the file of a compressed document that names its score. It must be
// there (MusicXML 4.0, compressed files).
const containerFile = "META-INF/container.xml"

// unpack returns the document of a file: the file itself, or where it is
// compressed (.mxl) the one that its container names. Without a container it is the only
// score that the file holds, and lone is set.
func unpack(data []byte) (document []byte, lone bool, err error) {
	if len(data) > maxBytes {
		return nil, false, fmt.Errorf("the file is longer than %d MB; give a smaller one", maxBytes>>20)
	}
	if !bytes.HasPrefix(data, []byte("PK")) {
		return data, false, nil
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, false, errors.New("this looks like compressed MusicXML but cannot be unpacked: it is damaged; save it again")
	}
	if len(z.File) > maxFiles {
		return nil, false, fmt.Errorf("the compressed file holds %d files; at most %d are read", len(z.File), maxFiles)
	}
	if !slices.ContainsFunc(z.File, func(f *zip.File) bool { return f.Name == containerFile }) {
		if name := onlyScore(z); name != "" {
			document, err = unpackFile(z, name)
			return document, true, err
		}
	}
	document, err = contained(z)
	return document, false, err
}

// onlyScore names the score of a compressed file that holds no other, "" where there are
// none or several.
func onlyScore(z *zip.Reader) (name string) {
	for _, f := range z.File {
		ending := strings.ToLower(path.Ext(f.Name))
		hidden := strings.HasPrefix(path.Base(f.Name), ".") // what some systems keep beside a file
		if hidden || ending != ".xml" && ending != ".musicxml" || strings.HasPrefix(f.Name, "META-INF/") {
			continue
		}
		if name != "" {
			return ""
		}
		name = f.Name
	}
	return name
}

// contained returns the document that the container of a compressed file names.
func contained(z *zip.Reader) ([]byte, error) {
	list, err := unpackFile(z, containerFile)
	if err != nil {
		return nil, err
	}
	var container struct {
		Roots []struct {
			Path string `xml:"full-path,attr"`
			Type string `xml:"media-type,attr"`
		} `xml:"rootfiles>rootfile"`
	}
	if err := newDecoder(list).Decode(&container); err != nil {
		return nil, fmt.Errorf("%s: %w", containerFile, err)
	}
	// The first root file is the document (MusicXML 4.0, compressed files).
	if len(container.Roots) == 0 || container.Roots[0].Path == "" {
		return nil, errors.New(containerFile + " names no document; give a compressed MusicXML file or the plain .musicxml")
	}
	return unpackFile(z, container.Roots[0].Path)
}

// unpackFile unpacks one file, and refuses one that grows past all bounds.
func unpackFile(z *zip.Reader, name string) ([]byte, error) {
	for _, f := range z.File {
		if f.Name != name {
			continue
		}
		if f.UncompressedSize64 > maxBytes {
			return nil, fmt.Errorf("%s unpacks to more than %d MB and is refused", name, maxBytes>>20)
		}
		var data []byte
		r, err := f.Open()
		if err == nil {
			data, err = io.ReadAll(io.LimitReader(r, maxBytes+1))
			r.Close()
		}
		if errors.Is(err, zip.ErrAlgorithm) {
			return nil, fmt.Errorf("%s is compressed in a way that is not read; save it again as .mxl or as plain .musicxml", name)
		}
		if err != nil {
			return nil, fmt.Errorf("%s cannot be unpacked: it is damaged or locked by a password; save it again", name)
		}
		if len(data) > maxBytes {
			return nil, fmt.Errorf("%s unpacks to more than %d MB and is refused", name, maxBytes>>20)
		}
		return data, nil
	}
	return nil, fmt.Errorf("the compressed file holds no %s; give a compressed MusicXML file", name)
}

// Pack returns a document as a compressed file (.mxl).
func Pack(document []byte) ([]byte, error) {
	const name = "score.musicxml"
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	// The media type comes first and uncompressed (MusicXML 4.0, compressed files).
	m, err := z.CreateHeader(&zip.FileHeader{Name: "mimetype", Method: zip.Store})
	if err != nil {
		return nil, err
	}
	files := []struct {
		to   io.Writer
		name string
		data string
	}{
		{to: m, data: "application/vnd.recordare.musicxml"},
		{name: containerFile, data: xml.Header + "<container>\n <rootfiles>\n  <rootfile full-path=\"" + name +
			"\" media-type=\"application/vnd.recordare.musicxml+xml\"/>\n </rootfiles>\n</container>\n"},
		{name: name, data: string(document)},
	}
	for _, f := range files {
		if f.to == nil {
			if f.to, err = z.Create(f.name); err != nil {
				return nil, err
			}
		}
		if _, err := io.WriteString(f.to, f.data); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// inUTF8 returns a text in UTF-16 with its mark in UTF-8, any other as it is.
func inUTF8(data []byte) []byte {
	if bytes.HasPrefix(data, []byte{0xfe, 0xff}) || bytes.HasPrefix(data, []byte{0xff, 0xfe}) {
		if text, err := unicode.UTF16(unicode.BigEndian, unicode.ExpectBOM).NewDecoder().Bytes(data); err == nil {
			return text
		}
	}
	return data
}

func newDecoder(data []byte) *xml.Decoder {
	d := xml.NewDecoder(bytes.NewReader(bytes.TrimPrefix(inUTF8(data), []byte("\ufeff"))))
	d.CharsetReader = func(label string, in io.Reader) (io.Reader, error) {
		if strings.HasPrefix(strings.ToLower(label), "utf-16") {
			return in, nil // decoded above
		}
		e, err := ianaindex.IANA.Encoding(label)
		if err != nil || e == nil {
			return nil, fmt.Errorf("the text is in %q; save it in UTF-8", label)
		}
		return e.NewDecoder().Reader(in), nil
	}
	return d
}

// mostOpen is how far elements may lie within elements: those of a score are a dozen deep,
// and the XML reader keeps all that are open.
const mostOpen = 100_000

// tooDeep reports whether more elements are open at once. It may take a > in a value for
// the end of an element.
func tooDeep(document []byte) bool {
	open := 0
	for {
		at := bytes.IndexByte(document, '<')
		if at < 0 || at+1 == len(document) {
			return false
		}
		document = document[at+1:]
		switch document[0] {
		case '/':
			open--
		case '!', '?':
		default:
			end := bytes.IndexByte(document, '>')
			if end < 1 || document[end-1] != '/' {
				open++
			}
		}
		if open > mostOpen {
			return true
		}
	}
}

// decode reads a document, partwise or timewise.
func decode(document []byte) (*score, error) {
	if tooDeep(document) {
		return nil, fmt.Errorf("over %d elements lie within one another: this is no score", mostOpen)
	}
	s, err := decodeAll(lean(document))
	if err != nil { // for the place of the fault
		return decodeAll(document, nil)
	}
	return s, nil
}

// decodeAll reads a document of which some elements have been read beforehand.
func decodeAll(document []byte, read []any) (*score, error) {
	d := newDecoder(document)
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return nil, errors.New("there is no MusicXML in the file; give a .musicxml, .xml or .mxl file")
		}
		if err != nil {
			return nil, placed(d, err)
		}
		start, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		name := start.Name.Local
		if name != "score-partwise" && name != "score-timewise" {
			return nil, fmt.Errorf("the document is a %q; give MusicXML, whose outer element is score-partwise or score-timewise", name)
		}
		s := &score{}
		start.Name.Local, start.Name.Space = "score-partwise", ""
		if err := d.DecodeElement(s, &start); err != nil {
			return nil, placed(d, err)
		}
		if name == "score-timewise" {
			s.partwise()
		}
		s.expand(read)
		return s, nil
	}
}

// placed adds the line and column to an error of the XML reader.
func placed(d *xml.Decoder, err error) error {
	line, column := d.InputPos()
	if number := new(strconv.NumError); errors.As(err, &number) {
		err = fmt.Errorf("found %q where a number is due", number.Num)
	}
	return fmt.Errorf("line %d, column %d: the XML cannot be read: %w", line, column, err)
}

// partwise turns a timewise score's measures of parts into parts of measures.
func (s *score) partwise() {
	at := map[string]int{}
	for _, m := range s.Measures {
		for _, p := range m.Parts {
			i, ok := at[p.ID]
			if !ok {
				i = len(s.Music)
				at[p.ID] = i
				s.Music = append(s.Music, part{ID: p.ID})
			}
			s.Music[i].Measures = append(s.Music[i].Measures, measure{Number: m.Number, Implicit: m.Implicit, Items: p.Items})
		}
	}
	s.Measures = nil
}
