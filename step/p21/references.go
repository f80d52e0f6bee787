package p21

// Reference is a place that refers to another record, and the record it
// stands in; the zero value is none.
type Reference struct {
	Record Record
	Pos    Pos
}

// References finds for each number the first place that refers to it. It looks
// through the whole text, once for all of them.
func (f *File) References(ids []ID) []Reference {
	out := make([]Reference, len(ids))
	wanted := make(map[ID]int, len(ids))
	for i, id := range ids {
		wanted[id] = i
	}
	for i := range f.recs {
		if len(wanted) == 0 {
			break
		}
		if f.recs[i].word == noWord {
			continue
		}
		f.eachReference(i, func(id ID, at int) {
			if k, ok := wanted[id]; ok {
				out[k] = Reference{Record{f: f, i: int32(i)}, f.PosAt(at)}
				delete(wanted, id)
			}
		})
	}
	return out
}

// eachReference yields the references of record i and their offsets.
func (f *File) eachReference(i int, yield func(id ID, at int)) {
	src := f.src[:f.recs[i].to]
	for p := int(f.recs[i].from); p < len(src); {
		switch {
		case src[p] == '\'':
			p = stringEnd(src, p)
		case startsComment(src, p):
			p = skipBlank(src, p)
		case src[p] == '#':
			id, end, ok := number(src, p+1)
			if ok {
				yield(id, p)
			}
			p = max(end, p+1)
		default:
			p++
		}
	}
}
