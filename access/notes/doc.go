// Package notes reads what a user says of a product that its geometry does not
// show, or shows wrongly: a part that is no fastener though it looks like one,
// one that is, a joint that is glued or snapped.
//
//	format: stepscan.notes/1
//	parts:
//	  - name: light pipe        # as the file calls the part or its use
//	    fastener: {kind: none}
//	  - name: X-0045
//	    fastener: {kind: screw, size: M4, drive: hex socket, drive_size: "3"}
//	joints:
//	  - part: type label
//	    on: base
//	    by: glue
//	    release: warm air, 80 °C
//
// It is read strictly: a word that is not known is an error with its line, what
// was expected and the nearest right word. What the words mean for a product,
// the judgement decides.
package notes
