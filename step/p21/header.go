package p21

// Header is what the header section says, decoded. Missing entries are empty.
type Header struct {
	Description  []string
	Level        string // implementation level: "2;1"
	Name         string
	Written      string // time stamp as it stands
	Author       []string
	Organization []string
	Preprocessor string
	System       string
	Authorised   string
	Schemas      []string
}

// header reads the header's records until its end.
func (s *scanner) header() {
	for {
		s.blank()
		at := s.pos
		if at >= len(s.src) || s.src[at] == '#' {
			return
		}
		name := s.name()
		switch name {
		case "ENDSEC":
			s.toSemicolon()
			return
		case "DATA", "END-ISO-10303-21":
			s.note(0, at, "ENDSEC is missing at the end of the header")
			s.pos = at
			return
		}
		s.blank()
		if name == "" || s.pos >= len(s.src) || s.src[s.pos] != '(' {
			s.warn(0, at, s.expected("a header record", at))
			s.pos = max(s.pos, at)
			s.resync()
			continue
		}
		from := s.pos
		if to, ok := s.recordEnd(0, at); ok {
			s.f.Header.set(name, newParams(s.f, 0, name, from, to))
		}
	}
}

func (h *Header) set(name string, p Params) {
	switch name {
	case "FILE_DESCRIPTION":
		h.Description, h.Level = p.Strings(0), p.String(1)
	case "FILE_NAME":
		h.Name, h.Written = p.String(0), p.String(1)
		h.Author, h.Organization = p.Strings(2), p.Strings(3)
		h.Preprocessor, h.System, h.Authorised = p.String(4), p.String(5), p.String(6)
	case "FILE_SCHEMA":
		h.Schemas = p.Strings(0)
	}
}
