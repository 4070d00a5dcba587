package musicxml

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"golang.org/x/text/encoding/ianaindex"
	"golang.org/x/text/encoding/unicode"
)

// maxBytes bounds a document, packed or not; a symphony takes a third of it.
const maxBytes = 48 << 20

// maxFiles bounds the files of a compressed document.
const maxFiles = 1000

// unpack returns the document of a file: the file itself, or where it is
// compressed (.mxl) the one that its container names.
func unpack(data []byte) ([]byte, error) {
	if len(data) > maxBytes {
		return nil, fmt.Errorf("the file is longer than %d MB; give a smaller one", maxBytes>>20)
	}
	if !bytes.HasPrefix(data, []byte("PK")) {
		return data, nil
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, fmt.Errorf("this looks like compressed MusicXML but cannot be unpacked: %w", err)
	}
	if len(z.File) > maxFiles {
		return nil, fmt.Errorf("the compressed file holds %d files; at most %d are read", len(z.File), maxFiles)
	}
	list, err := unpackFile(z, "META-INF/container.xml")
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
		return nil, fmt.Errorf("META-INF/container.xml: %w", err)
	}
	// The first root file is the document (MusicXML 4.0, compressed files).
	if len(container.Roots) == 0 || container.Roots[0].Path == "" {
		return nil, errors.New("META-INF/container.xml names no document; give a compressed MusicXML file or the plain .musicxml")
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
		r, err := f.Open()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		defer r.Close()
		data, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
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
		{name: "META-INF/container.xml", data: xml.Header + "<container>\n <rootfiles>\n  <rootfile full-path=\"" + name +
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

func newDecoder(data []byte) *xml.Decoder {
	if bytes.HasPrefix(data, []byte{0xfe, 0xff}) || bytes.HasPrefix(data, []byte{0xff, 0xfe}) {
		if text, err := unicode.UTF16(unicode.BigEndian, unicode.ExpectBOM).NewDecoder().Bytes(data); err == nil {
			data = text
		}
	}
	d := xml.NewDecoder(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff"))))
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

// looks are elements of a note that say how it is drawn, of text alone; nothing here
// reads them.
var looks = [][]byte{[]byte("beam"), []byte("stem"), []byte("type"), []byte("accidental"), []byte("dot")}

// lean leaves out what takes most of the time to read in large documents and is not
// looked at: space between elements, and looks. What is not plain it leaves as it is.
func lean(document []byte) []byte {
	if !plain(document) || bytes.Contains(document, []byte("<![CDATA[")) {
		return document
	}
	out := make([]byte, 0, len(document))
	for rest := document; ; {
		at := bytes.IndexByte(rest, '<')
		if at < 0 {
			return append(out, rest...)
		}
		if len(bytes.TrimSpace(rest[:at])) > 0 {
			out = append(out, rest[:at]...)
		}
		rest = rest[at:]
		end := bytes.IndexByte(rest, '>')
		if end < 0 {
			return append(out, rest...)
		}
		name := rest[1 : 1+nameLength(rest[1:])]
		if slices.ContainsFunc(looks, func(look []byte) bool { return bytes.Equal(look, name) }) {
			if rest[end-1] == '/' {
				rest = rest[end+1:]
				continue
			}
			if next := bytes.IndexByte(rest[end:], '<'); next > 0 && bytes.HasPrefix(rest[end+next+2:], name) && rest[end+next+1] == '/' {
				if closed := bytes.IndexByte(rest[end+next:], '>'); closed > 0 {
					rest = rest[end+next+closed+1:]
					continue
				}
			}
		}
		out = append(out, rest[:end+1]...)
		rest = rest[end+1:]
	}
}

// plain reports whether tags stand in a document byte by byte.
func plain(document []byte) bool {
	return !bytes.HasPrefix(document, []byte{0xfe, 0xff}) && !bytes.HasPrefix(document, []byte{0xff, 0xfe})
}

func nameLength(b []byte) int {
	n := 0
	for n < len(b) && (b[n] >= 'a' && b[n] <= 'z' || b[n] == '-') {
		n++
	}
	return n
}

// decode reads a document, partwise or timewise.
func decode(document []byte) (*score, error) {
	s, err := decodeAll(lean(document))
	if err != nil { // for the place of the fault
		return decodeAll(document)
	}
	return s, nil
}

func decodeAll(document []byte) (*score, error) {
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
		return s, nil
	}
}

// placed adds the line and column to an error of the XML reader.
func placed(d *xml.Decoder, err error) error {
	line, column := d.InputPos()
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
