package p21

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"

	"stepscan/geom/workers"
)

// benchBytes is the size of the text that the benchmarks read.
const benchBytes = 24 << 20

// benchText writes an exchange structure of the kind that mechanical CAD
// programs export: of a hundred records some 38 are points, 20 directions, 32
// other short topology, 8 named or commented ones and one a spline surface of
// a few kilobytes. The same text each time.
var benchText = sync.OnceValue(func() []byte {
	w := &benchWriter{rng: rand.New(rand.NewPCG(10303, 21))}
	w.WriteString(top)
	for w.Len() < benchBytes {
		w.record()
	}
	w.WriteString(bottom)
	return w.Bytes()
})

type benchWriter struct {
	bytes.Buffer
	rng *rand.Rand
	id  int
}

func (w *benchWriter) record() {
	w.id++
	fmt.Fprintf(w, "#%d=", w.id)
	switch n := w.rng.IntN(1000); {
	case n < 380:
		fmt.Fprintf(w, "CARTESIAN_POINT('',(%s,%s,%s));\n", w.length(), w.length(), w.length())
	case n < 580:
		fmt.Fprintf(w, "DIRECTION('',(%s,%s,%s));\n", w.cosine(), w.cosine(), w.cosine())
	case n < 680:
		fmt.Fprintf(w, "ORIENTED_EDGE('',*,*,%s,.T.);\n", w.ref())
	case n < 760:
		fmt.Fprintf(w, "EDGE_CURVE('',%s,%s,%s,.F.);\n", w.ref(), w.ref(), w.ref())
	case n < 840:
		fmt.Fprintf(w, "AXIS2_PLACEMENT_3D('Placement',%s,%s,%s);\n", w.ref(), w.ref(), w.ref())
	case n < 910:
		fmt.Fprintf(w, "ADVANCED_FACE('',(%s,%s),%s,.T.);\n", w.ref(), w.ref(), w.ref())
	case n < 950:
		fmt.Fprintf(w, "PRODUCT('M3x8; ISO ''4762''','Geh\\X\\E4use %d',$,(%s)); /* don't; see #%d=X() */\n", w.id, w.ref(), w.id)
	case n < 990:
		fmt.Fprintf(w, "( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) );\n")
	default:
		w.spline()
	}
}

func (w *benchWriter) spline() {
	w.WriteString("B_SPLINE_SURFACE_WITH_KNOTS('',3,3,(")
	for i := range 8 {
		if i > 0 {
			w.WriteString(",\n  ")
		}
		fmt.Fprintf(w, "(%s,%s,%s,%s,%s,%s)", w.ref(), w.ref(), w.ref(), w.ref(), w.ref(), w.ref())
	}
	w.WriteString("),.UNSPECIFIED.,.F.,.F.,.F.,(4,1,1,1,1,4),(4,1,1,4),\n  (0.")
	for range 40 {
		fmt.Fprintf(w, ",%s", w.length())
	}
	w.WriteString("),(0.,1.),.UNSPECIFIED.);\n")
}

func (w *benchWriter) ref() string { return fmt.Sprintf("#%d", 1+w.rng.IntN(w.id)) }

// length is a coordinate as written: short and round, or with 12 to 17 digits.
func (w *benchWriter) length() string {
	switch x := w.rng.Float64()*400 - 200; w.rng.IntN(4) {
	case 0:
		return "0."
	case 1:
		return fmt.Sprintf("%.1f", x)
	case 2:
		return fmt.Sprintf("%.11f", x)
	default:
		return fmt.Sprintf("%.17g", x)
	}
}

func (w *benchWriter) cosine() string {
	switch x := w.rng.Float64()*2 - 1; w.rng.IntN(5) {
	case 0, 1:
		return "0."
	case 2:
		return "-1."
	case 3:
		return fmt.Sprintf("%.12E", x/100)
	default:
		return fmt.Sprintf("%.15f", x)
	}
}

func BenchmarkIndex(b *testing.B) {
	for _, jobs := range []int{1, 2} {
		b.Run(fmt.Sprintf("jobs=%d", jobs), func(b *testing.B) { benchIndex(b, jobs) })
	}
}

// BenchmarkSum adds up the bytes of the same text in as many chunks: what the
// machine's second core is worth to work that is hardly more than reading.
func BenchmarkSum(b *testing.B) {
	for _, jobs := range []int{1, 2} {
		b.Run(fmt.Sprintf("jobs=%d", jobs), func(b *testing.B) { benchSum(b, jobs) })
	}
}

func benchSum(b *testing.B, jobs int) {
	src := benchText()
	b.SetBytes(int64(len(src)))
	n := chunkCount(len(src), jobs)
	sums, step := make([]uint64, n), len(src)/n
	for b.Loop() {
		workers.Run(b.Context(), n, jobs, func(i int) {
			sum := uint64(0)
			for _, c := range src[i*step : (i+1)*step] { // a byte at a time, as slow as the index
				sum = sum*31 + uint64(c)
			}
			sums[i] = sum
		})
	}
	if sums[0] == 0 {
		b.Fatal("nothing was added up")
	}
}

func benchIndex(b *testing.B, jobs int) {
	src := benchText()
	b.SetBytes(int64(len(src)))
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		f, err := Scan(src, Options{Jobs: jobs})
		if err != nil {
			b.Fatal(err)
		}
		n = f.Len()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/record")
}

// BenchmarkDecode decodes every parameter of every instance.
func BenchmarkDecode(b *testing.B) {
	src := benchText()
	f, err := Scan(src, Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(src)))
	b.ReportAllocs()
	for b.Loop() {
		var d benchDecoder
		for r := range f.All() {
			d.record(r)
		}
		if d.odd > 0 || d.reals == 0 || d.refs == 0 || d.texts == 0 {
			b.Fatalf("decoded %+v", d)
		}
	}
}

// benchDecoder counts what it decoded, and sums it so that nothing is left out.
type benchDecoder struct {
	reals, refs, texts, enums, odd int
	sum                            float64
	ids                            ID
}

func (d *benchDecoder) record(r Record) {
	for _, l := range r.Leaves() {
		p, _ := r.Leaf(l)
		d.params(&p)
	}
	if !r.IsComplex() {
		p := r.Params()
		d.params(&p)
	}
}

func (d *benchDecoder) params(p *Params) {
	for i := range p.Len() {
		d.value(p.Value(i))
	}
}

func (d *benchDecoder) value(v Value) {
	switch v.Kind() {
	case Number:
		x, _ := v.Real()
		d.sum += x
		d.reals++
	case Ref:
		id, _ := v.Ref()
		d.ids += id
		d.refs++
	case Text:
		s, _ := v.Text()
		d.ids += ID(len(s))
		d.texts++
	case Enum:
		s, _ := v.Enum()
		d.ids += ID(len(s))
		d.enums++
	case List:
		for it, _ := v.Items(); it.Next(); {
			d.value(it.Value())
		}
	case Unset, Derived:
	default:
		d.odd++
	}
}
