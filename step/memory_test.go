package step

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

// doublings is an assembly of so many levels, each of which has the next twice.
func doublings(levels int) []byte {
	var b strings.Builder
	b.WriteString("ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','',(''),(''),'','','');\nFILE_SCHEMA(('AUTOMOTIVE_DESIGN'));\nENDSEC;\nDATA;\n")
	for i := range levels + 1 {
		fmt.Fprintf(&b, "#%d=PRODUCT('n%d','n%d','',());\n#%d=PRODUCT_DEFINITION_FORMATION('','',#%d);\n#%d=PRODUCT_DEFINITION('','',#%d,$);\n",
			10*i+1, i, i, 10*i+2, 10*i+1, 10*i+3, 10*i+2)
	}
	for i := range levels {
		for k := range 2 {
			fmt.Fprintf(&b, "#%d=NEXT_ASSEMBLY_USAGE_OCCURRENCE('u%d','','',#%d,#%d,$);\n", 10*i+4+k, k, 10*i+3, 10*i+13)
		}
	}
	b.WriteString("ENDSEC;\nEND-ISO-10303-21;\n")
	return []byte(b.String())
}

// A few hundred lines that stand for 2^40 occurrences are refused by a limit
// that is told, listed or not; what the limit has room for is read.
func TestMultipliedOccurrences(t *testing.T) {
	for _, walk := range []bool{false, true} {
		_, err := Read(t.Context(), "a.stp", doublings(40), Options{Structure: true, Walk: walk})
		var limit *LimitError
		if !errors.As(err, &limit) || !limit.Memory || !strings.Contains(err.Error(), "200000") {
			t.Errorf("walk %v: error %v, want the limit of 200000", walk, err)
		}
	}
	a, err := Read(t.Context(), "a.stp", doublings(10), Options{Structure: true})
	if err != nil || len(a.Occurrences) != 1<<11-1 {
		t.Fatalf("error %v, want 2047 occurrences", err)
	}
	var limit *LimitError
	if _, err := Read(t.Context(), "a.stp", doublings(10), Options{MaxMemory: 2000 * occurrenceBytes}); !errors.As(err, &limit) {
		t.Errorf("error %v: 2047 occurrences have no room where 2000 have", err)
	}
	if _, err := Read(t.Context(), "a.stp", doublings(18), Options{Structure: true, Walk: true, MaxMemory: 1 << 30}); err != nil {
		t.Errorf("2^19 occurrences have room in a GiB: %v", err)
	}
}

// What is decoded counts against the memory that was asked for.
func TestDecodedMemory(t *testing.T) {
	b := newBudget(1<<30, 1<<20)
	if b.take(1 << 20 / bodyFactor); b.over() {
		t.Error("over at the limit")
	}
	var limit *LimitError
	if b.take(1); !b.over() || !errors.As(b.error(), &limit) || !limit.Memory {
		t.Errorf("a byte above the limit: over %v, %v", b.over(), b.error())
	}
	if s := b.share(); s.limit != b.limit || s.error().Error() != b.error().Error() {
		t.Error("a share has another limit")
	}
}
