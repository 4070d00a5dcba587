package musicxml

import (
	"bytes"
	"encoding/xml"
	"strconv"
	"strings"
	"unicode/utf8"
)

// A large score is notes for the most part, and the XML reader of the standard library
// takes most of its time over them. So lean reads what is plain of a measure's elements
// beforehand, as the reader would, and leaves an element in the place of each run of
// them. What is not plain stays as it is.

// runElement stands for elements that have been read, from and to are their numbers.
const runElement = "read-beforehand"

// run is a run of elements that have been read: first to end, the end not included.
type run struct{ first, end int }

func runOf(start xml.StartElement) *run {
	r := &run{}
	for _, a := range start.Attr {
		n, err := strconv.Atoi(a.Value)
		switch {
		case err != nil:
		case a.Name.Local == "first":
			r.first = n
		case a.Name.Local == "end":
			r.end = n
		}
	}
	return r
}

// lean reads the plain elements of measures and returns a document that has runs in
// their place, without the space between elements, and the elements.
func lean(document []byte) ([]byte, []any) {
	if bytes.Contains(document, []byte(runElement)) {
		return document, nil
	}
	s := scanner{text: string(document), unicode: inUnicode(document)}
	out := make([]byte, 0, len(document)/4)
	var read []any
	from := 0  // where the run began
	tried := 0 // what was not plain is not tried again from within
	close := func() {
		if from < len(read) {
			out = append(out, "<"+runElement+" first=\""+strconv.Itoa(from)+"\" end=\""+strconv.Itoa(len(read))+"\"/>"...)
			from = len(read)
		}
	}
	for s.at < len(s.text) {
		at := strings.IndexByte(s.text[s.at:], '<')
		if at < 0 {
			break
		}
		if between := s.text[s.at : s.at+at]; strings.TrimSpace(between) != "" {
			close()
			out = append(out, between...)
		}
		s.at += at
		start := s.at
		if start >= tried {
			if element := s.element(); element != nil {
				read = append(read, element)
				continue
			}
			tried = s.at
		}
		close()
		end := endOf(s.text[start:])
		if end < 0 {
			s.at = start
			break
		}
		s.at = start + end
		out = append(out, s.text[start:s.at]...)
	}
	close()
	return append(out, s.text[s.at:]...), read
}

// endOf returns the end of the tag, comment or section that a text begins with, −1 where
// it has none.
func endOf(text string) int {
	end := ">"
	switch {
	case strings.HasPrefix(text, "<!--"):
		end = "-->"
	case strings.HasPrefix(text, section):
		end = "]]>"
	}
	at := strings.Index(text, end)
	if at < 0 {
		return -1
	}
	return at + len(end)
}

// expand puts what was read beforehand in the place of its runs.
func (s *score) expand(read []any) {
	for i := range s.Music {
		for k := range s.Music[i].Measures {
			s.Music[i].Measures[k].Items = s.Music[i].Measures[k].Items.expanded(read)
		}
	}
}

func (all items) expanded(read []any) items {
	var out items
	for _, i := range all {
		r, ok := i.value.(*run)
		switch {
		case !ok:
			out = append(out, i)
		case r.first >= 0 && r.first <= r.end && r.end <= len(read):
			for _, element := range read[r.first:r.end] {
				out = append(out, item{element})
			}
		}
	}
	return out
}

// scanner goes through the tags of a document.
type scanner struct {
	text  string
	at    int
	depth int
	// unicode is set where letters beyond ASCII are what they seem.
	unicode bool
	notes   []note // to be given out
}

// deepest is how deep the elements of a note lie at most, and more.
const deepest = 20

// tag is a start tag, an end tag or an empty element.
type tag struct {
	name, attributes string
	end, empty       bool
}

// element reads the element that begins here, nil where it is none that is read
// beforehand or not plain.
func (s *scanner) element() any {
	var ok bool
	var out any
	switch t, is := s.tag(); {
	case !is || t.end:
	case t.name == "note":
		out, ok = s.note(t)
	case t.name == "backup":
		v := &backup{}
		out, ok = v, s.children(t, func(c tag) bool { return s.field(c, "duration", &v.Duration) })
	case t.name == "forward":
		v := &forward{}
		out, ok = v, s.children(t, func(c tag) bool { return s.field(c, "duration", &v.Duration) })
	case t.name == "harmony":
		out, ok = s.harmony(t)
	case t.name == "attributes":
		out, ok = s.signature(t)
	case t.name == "direction":
		out, ok = s.mark(t)
	case t.name == "print":
		out, ok = &other{Name: t.name}, s.skip(t)
	}
	if !ok {
		return nil
	}
	return out
}

// inUnicode reports whether a document is in UTF-8 and says no other.
func inUnicode(document []byte) bool {
	head := bytes.ToLower(document[:min(len(document), 200)])
	if bytes.Contains(head, []byte("encoding")) && !bytes.Contains(head, []byte("utf-8")) {
		return false
	}
	return utf8.Valid(document) && !bytes.Contains(document, []byte("\ufffe")) && !bytes.Contains(document, []byte("\uffff"))
}

// entities are those that XML itself has.
var entities = strings.NewReplacer("&amp;", "&", "&lt;", "<", "&gt;", ">", "&quot;", `"`, "&apos;", "'")

// plainText reports whether text says what it is.
func (s *scanner) plainText(text string) bool {
	for i := range len(text) {
		if c := text[i]; c >= 0x80 && !s.unicode || c == '&' || c == '>' || c < ' ' && c != '\n' && c != '\t' {
			return false
		}
	}
	return true
}

// tag reads the tag that begins here; false where it is not plain.
func (s *scanner) tag() (t tag, ok bool) {
	if s.at+1 >= len(s.text) || s.text[s.at] != '<' {
		return t, false
	}
	i := s.at + 1
	if s.text[i] == '/' {
		t.end = true
		i++
	}
	end := strings.IndexByte(s.text[i:], '>')
	if end < 0 {
		return t, false
	}
	rest := s.text[i : i+end]
	s.at = i + end + 1
	n := 0
	for n < len(rest) && (rest[n] >= 'a' && rest[n] <= 'z' || rest[n] == '-' && n > 0) {
		n++
	}
	t.name, rest = rest[:n], rest[n:]
	if strings.HasSuffix(rest, "/") && !t.end {
		t.empty, rest = true, rest[:len(rest)-1]
	}
	t.attributes = rest
	return t, n > 0 && (rest == "" || !t.end && s.attributesPlain(rest))
}

// attributesPlain reports whether attributes are written as XML asks, without entities.
func (s *scanner) attributesPlain(text string) bool {
	for {
		rest := strings.TrimLeft(text, " \t\r\n")
		if rest == "" {
			return true
		}
		name, value, ok := strings.Cut(rest, "=")
		if !ok || len(rest) == len(text) || name == "" || value == "" || value[0] != '"' && value[0] != '\'' {
			return false
		}
		for i := range len(name) {
			if c := name[i]; (c < 'a' || c > 'z') && (c != '-' || i == 0) {
				return false
			}
		}
		end := strings.IndexByte(value[1:], value[0])
		if end < 0 || !s.plainText(value[1:1+end]) || strings.IndexByte(value[1:1+end], '<') >= 0 {
			return false
		}
		text = value[end+2:]
	}
}

// attribute returns the value of an attribute, "" for none.
func (t tag) attribute(name string) string {
	if value := t.given(name); value != nil {
		return *value
	}
	return ""
}

// given returns the value of an attribute, nil for none.
func (t tag) given(name string) *string {
	for rest := t.attributes; ; {
		key, value, ok := strings.Cut(strings.TrimLeft(rest, " \t\r\n"), "=")
		if !ok {
			return nil
		}
		end := 1 + strings.IndexByte(value[1:], value[0])
		if key == name {
			value = value[1:end]
			return &value
		}
		rest = value[end+1:]
	}
}

// children reads what stands in an element, each child by a function that leaves the
// scanner behind it. It reports false where something is not plain.
func (s *scanner) children(of tag, child func(tag) bool) bool {
	if of.empty {
		return true
	}
	if s.depth == deepest {
		return false
	}
	s.depth++
	defer func() { s.depth-- }()
	for {
		at := strings.IndexByte(s.text[s.at:], '<')
		if at < 0 || strings.IndexByte(s.text[s.at:s.at+at], '&') >= 0 {
			return false
		}
		if between := s.text[s.at : s.at+at]; strings.TrimSpace(between) != "" && !s.plainText(between) {
			return false
		}
		s.at += at
		t, ok := s.tag()
		switch {
		case !ok:
			return false
		case t.end:
			return t.name == of.name
		case !child(t):
			return false
		}
	}
}

// skip goes behind an element that nothing here reads.
func (s *scanner) skip(of tag) bool { return s.children(of, s.skip) }

// content reads the text of an element that has nothing else in it.
func (s *scanner) content(of tag) (string, bool) {
	if of.empty {
		return "", true
	}
	whole := ""
	for {
		at := strings.IndexByte(s.text[s.at:], '<')
		if at < 0 {
			return "", false
		}
		text := s.text[s.at : s.at+at]
		s.at += at
		bare := text // without its entities
		if strings.IndexByte(text, '&') >= 0 {
			n := strings.Count(text, "&amp;")
			text = entities.Replace(text)
			if strings.Count(text, "&") != n {
				return "", false
			}
			bare = strings.ReplaceAll(text, "&", "")
		}
		if !s.plainText(bare) {
			return "", false
		}
		whole += text
		if !strings.HasPrefix(s.text[s.at:], section) {
			t, ok := s.tag()
			return whole, ok && t.end && t.name == of.name
		}
		raw, _, ok := strings.Cut(s.text[s.at+len(section):], "]]>")
		if !ok || !s.plainText(strings.NewReplacer("&", "", ">", "").Replace(raw)) {
			return "", false
		}
		whole += raw
		s.at += len(section) + len(raw) + len("]]>")
	}
}

// section begins text in which no letter means anything else.
const section = "<![CDATA["

// field reads a child's text if it has the name, and skips it if not.
func (s *scanner) field(t tag, name string, to *string) bool {
	if t.name != name {
		return s.skip(t)
	}
	text, ok := s.content(t)
	*to = text
	return ok
}

// whole reads a child's text as a whole number.
func (s *scanner) whole(t tag, to *int) bool {
	text, ok := s.content(t)
	n, err := strconv.Atoi(strings.TrimSpace(text))
	*to = n
	return ok && err == nil
}
