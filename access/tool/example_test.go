package tool_test

import (
	"fmt"

	"stepscan/access/fastener"
	"stepscan/access/tool"
)

// The tools for a cylinder head screw M4, and how tall they stand above it.
func ExampleFor() {
	f := &fastener.Fastener{Kind: fastener.Screw, Drive: fastener.HexSocket, DriveSize: "3", Nominal: 4, RecessDepth: 2}
	for _, t := range tool.For(f) {
		fmt.Printf("%s: %g mm\n", t.Name, t.Sections[len(t.Sections)-1].To)
	}
	// Output:
	// bit hex 3 in 1/4 in holder: 245 mm
	// screwdriver hex 3: 163 mm
	// hex key 3, long arm in the screw: 64 mm
	// hex key 3, short arm in the screw: 21 mm
}
