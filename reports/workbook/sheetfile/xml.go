package sheetfile

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"unicode/utf8"
)

// scanner splits XML into tags and text without copying. A part has one main
// namespace, that of its root: a name in it comes without its prefix, any other
// comes with it, so that what a spreadsheet program passes over is passed over
// here. A part that binds the prefix of its root to something else is refused.
type scanner struct {
	b     []byte
	i     int
	depth int

	name []byte // of the tag, without prefix
	attr []byte // raw attributes of a start tag
	text []byte // raw character data
	cd   bool   // text comes from a CDATA section: no entities in it
	self bool   // the start tag closes itself

	rooted bool
	prefix []byte // of the root, with its colon
	root   []byte // raw attributes of the root
	space  string // its namespace
}

type kind int

const (
	eof kind = iota
	start
	end
	chars
)

const maxDepth = 64

var errXML = errors.New("the XML is broken")

func (s *scanner) next() (kind, error) {
	for s.i < len(s.b) {
		if s.b[s.i] != '<' {
			n := bytes.IndexByte(s.b[s.i:], '<')
			if n < 0 {
				n = len(s.b) - s.i
			}
			s.text, s.cd = s.b[s.i:s.i+n], false
			s.i += n
			return chars, nil
		}
		rest := s.b[s.i:]
		switch {
		case bytes.HasPrefix(rest, []byte("<?")):
			n := bytes.Index(rest, []byte("?>"))
			if n < 0 {
				return eof, errXML
			}
			s.i += n + 2
		case bytes.HasPrefix(rest, []byte("<!--")):
			n := bytes.Index(rest[4:], []byte("-->"))
			if n < 0 {
				return eof, errXML
			}
			s.i += n + 7
		case bytes.HasPrefix(rest, []byte("<![CDATA[")):
			n := bytes.Index(rest, []byte("]]>"))
			if n < 0 {
				return eof, errXML
			}
			s.text, s.cd = rest[9:n], true
			s.i += n + 3
			return chars, nil
		case bytes.HasPrefix(rest, []byte("<!")):
			return eof, errors.New("document type declarations are not accepted")
		default:
			return s.tag()
		}
	}
	if s.depth != 0 {
		return eof, errXML
	}
	return eof, nil
}

func (s *scanner) tag() (kind, error) {
	b, i := s.b, s.i+1
	closing := i < len(b) && b[i] == '/'
	if closing {
		i++
	}
	from := i
	for i < len(b) && b[i] != '>' && b[i] != '/' && b[i] != '<' && b[i] > ' ' {
		i++
	}
	s.name = b[from:i]
	if !s.rooted && !closing {
		s.prefix = s.name[:bytes.IndexByte(s.name, ':')+1]
	}
	if len(s.prefix) > 0 {
		s.name = bytes.TrimPrefix(s.name, s.prefix)
	}
	if len(s.name) == 0 {
		return eof, errXML
	}
	from = i
	var quote byte
	for ; i < len(b); i++ {
		switch c := b[i]; {
		case quote != 0:
			if c == quote {
				quote = 0
			} else if c == '<' {
				return eof, errXML
			}
		case c == '"' || c == '\'':
			quote = c
		case c == '<':
			return eof, errXML
		case c == '>':
			s.attr, s.self = b[from:i], false
			s.i = i + 1
			if closing {
				s.depth--
				if s.depth < 0 {
					return eof, errXML
				}
				return end, nil
			}
			if n := len(s.attr); n > 0 && s.attr[n-1] == '/' {
				s.attr, s.self = s.attr[:n-1], true
			}
			if err := s.bind(); err != nil {
				return eof, err
			}
			if s.self {
				return start, nil
			}
			s.depth++
			if s.depth > maxDepth {
				return eof, fmt.Errorf("XML nested deeper than %d", maxDepth)
			}
			return start, nil
		}
	}
	return eof, errXML
}

// bind notes the namespace of the root and refuses another binding of its prefix.
func (s *scanner) bind() error {
	if s.rooted && !bytes.Contains(s.attr, []byte("xmlns")) {
		return nil
	}
	name := "xmlns"
	if n := len(s.prefix); n > 0 {
		name += ":" + string(s.prefix[:n-1])
	}
	v := get(s.attr, name)
	if !s.rooted {
		s.rooted, s.root, s.space = true, s.attr, string(v)
		return nil
	}
	if v != nil && string(v) != s.space {
		return errors.New("one prefix stands for two namespaces")
	}
	return nil
}

// local is the name of the tag without any prefix.
func (s *scanner) local() string {
	return string(s.name[bytes.IndexByte(s.name, ':')+1:])
}

// The namespaces of the relationships of a part, transitional and strict
// (ECMA-376 part 1, annex A, from memory).
const (
	relSpace       = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	relSpaceStrict = "http://purl.oclc.org/ooxml/officeDocument/relationships"
)

// related is the attribute of that local name in the namespace of relationships.
// Where more than one could be meant, or the prefix is bound nowhere, ok is false.
func (s *scanner) related(local string) (v []byte, ok bool) {
	n := 0
	for key, val := range attributes(s.attr) {
		c := bytes.IndexByte(key, ':')
		if c < 0 || string(key[c+1:]) != local || string(key[:c]) == "xmlns" {
			continue
		}
		bound := get(s.attr, "xmlns:"+string(key[:c]))
		if bound == nil {
			bound = get(s.root, "xmlns:"+string(key[:c]))
		}
		if string(bound) == relSpace || string(bound) == relSpaceStrict {
			v = val
			n++
		}
	}
	return v, n == 1
}

// get is the raw value of the attribute called name, prefix and all, nil if
// there is none.
func get(attr []byte, name string) []byte {
	for key, val := range attributes(attr) {
		if string(key) == name {
			return val
		}
	}
	return nil
}

// attributes walks raw attributes; what is broken ends the walk.
func attributes(attr []byte) func(func(key, val []byte) bool) {
	return func(yield func(key, val []byte) bool) { walk(attr, yield) }
}

func walk(attr []byte, yield func(key, val []byte) bool) {
	i := 0
	for i < len(attr) {
		for i < len(attr) && attr[i] <= ' ' {
			i++
		}
		from := i
		for i < len(attr) && attr[i] != '=' && attr[i] > ' ' {
			i++
		}
		key := attr[from:i]
		for i < len(attr) && attr[i] <= ' ' {
			i++
		}
		if i >= len(attr) || attr[i] != '=' {
			return
		}
		i++
		for i < len(attr) && attr[i] <= ' ' {
			i++
		}
		if i >= len(attr) || attr[i] != '"' && attr[i] != '\'' {
			return
		}
		n := bytes.IndexByte(attr[i+1:], attr[i])
		if n < 0 {
			return
		}
		if !yield(key, attr[i+1:i+1+n]) {
			return
		}
		i += n + 2
	}
}

var entities = map[string]string{"lt": "<", "gt": ">", "amp": "&", "quot": `"`, "apos": "'"}

// appendText appends raw with its entities resolved. Only the five of XML and
// numbers are known: there is no way to define one.
func appendText(dst, raw []byte, cdata bool) ([]byte, error) {
	if cdata {
		return append(dst, raw...), nil
	}
	for {
		n := bytes.IndexByte(raw, '&')
		if n < 0 {
			return append(dst, raw...), nil
		}
		dst = append(dst, raw[:n]...)
		raw = raw[n+1:]
		n = bytes.IndexByte(raw[:min(len(raw), 12)], ';')
		if n < 0 {
			return dst, errXML
		}
		e := string(raw[:n])
		raw = raw[n+1:]
		if t, ok := entities[e]; ok {
			dst = append(dst, t...)
			continue
		}
		var r uint64
		err := errXML
		if len(e) > 2 && e[0] == '#' && e[1] == 'x' {
			r, err = strconv.ParseUint(e[2:], 16, 32)
		} else if len(e) > 1 && e[0] == '#' {
			r, err = strconv.ParseUint(e[1:], 10, 32)
		}
		if err != nil || r > utf8.MaxRune {
			return dst, fmt.Errorf("unknown entity %q", e)
		}
		dst = utf8.AppendRune(dst, rune(r))
	}
}

// unescape resolves the form _xHHHH_ in which spreadsheet files write
// characters that XML cannot hold (ECMA-376 part 1, 22.9.2.19, ST_Xstring).
func unescape(b []byte) []byte {
	if !bytes.Contains(b, []byte("_x")) {
		return b
	}
	var out []byte
	for i := 0; i < len(b); i++ {
		if i+6 < len(b) && b[i] == '_' && b[i+1] == 'x' && b[i+6] == '_' {
			if r, err := strconv.ParseUint(string(b[i+2:i+6]), 16, 32); err == nil {
				out = utf8.AppendRune(out, rune(r))
				i += 6
				continue
			}
		}
		out = append(out, b[i])
	}
	return out
}
