package fastener_test

import (
	"context"
	"fmt"

	"stepscan/access/fastener"
	"stepscan/access/fastener/fastenertest"
)

// A part without any name: only its shape says what it is.
func ExampleFind() {
	head, socket := fastenertest.Barrel(5.5, 3), fastenertest.HexPocket(2.5)
	part := fastenertest.Screw(3, 12, head, socket, 1.6)
	for _, f := range fastener.Find(context.Background(), fastenertest.Alone(part)) {
		fmt.Println(f.ID, f.Kind, f.Designation, f.Drive, f.DriveSize)
		for _, e := range f.Evidence {
			fmt.Println("  ", e)
		}
	}
	// Output:
	// f1 screw ISO 4762 M3×12 hex socket 2.5
	//    hexagonal pocket 2.50 mm across flats, 1.65 mm deep
	//    head Ø5.5 (standard 5.5), height 3 (3), shank Ø3 (3): ISO 4762 M3
}
