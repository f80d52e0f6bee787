// Package tool is the catalogue of what a bench has: for each drive and size
// the tools that fit, commonest first, each as the solid that driving sweeps.
// Every figure names its source.
//
// All heights are mm above the point where tool and fastener meet (the mouth
// of a recess, the top of a head), along the way out; a tool that surrounds
// its fastener has sections that begin below 0:
//
//	      │ body   │            ▲ height
//	      └──┐  ┌──┘            │
//	         │  │ holder        │
//	         └┐┌┘               │
//	          ││ bit            │
//	──────────┴┴────────── 0 ───┼── mouth of the recess, top of the head
//	      │  head  │            │
//
// The package knows nothing of obstacles: reach tries its tools.
package tool
