// Package page writes report.html: the whole report with its drawings as one
// file that needs no network and no script and can be printed. It adds no
// judgement: every word and number stands in the access.Report.
//
// The page is HTML that is well-formed XML as well, so that a strict parser can
// check it. html/template escapes all that comes from a file; its content
// security policy lets nothing load or run.
package page
