package app_test

import (
	"slices"
	"strconv"
	"strings"
)

// seeds are pieces of markup that run, load or break out where text is not
// written as text. Each is ours; the ways are those that the OWASP Cross Site
// Scripting Prevention Cheat Sheet is about. zq is the word that the tests
// look for.
var seeds = []string{
	`<script>zq()</script>`, `<ScRiPt>zq()</sCrIpT>`, `<script src=//zq.example></script>`, `<script/zq>zq()</script/zq>`, `<scr<script>ipt>zq()</script>`,
	`<img src=zq onerror=zq()>`, `<img/src=zq/onerror=zq()>`, `<img src=x:zq onerror="zq()">`, `<image href=zq>`, `<svg onload=zq()>`,
	`<svg><script>zq()</script></svg>`, `<svg><a href=javascript:zq()>zq</a></svg>`, `<svg><animate onbegin=zq()>`, `<math><mi zq=1>`, `<math href=javascript:zq()>`,
	`<iframe src=javascript:zq()>`, `<iframe srcdoc='<b>zq'>`, `<object data=zq>`, `<embed src=zq>`, `<applet code=zq>`,
	`<body onload=zq()>`, `<html zq=1>`, `<base href=//zq.example/>`, `<meta http-equiv=refresh content=0;zq>`, `<link rel=stylesheet href=//zq>`,
	`<style>*{zq:1}</style>`, `<b style=zq:expression(1)>`, `<div style="background:url(//zq)">`, `<form action=//zq.example><input name=zq>`, `</form><form action=//zq>`,
	`<button formaction=javascript:zq()>zq`, `<input autofocus onfocus=zq()>`, `<select onfocus=zq() autofocus>`, `<textarea onfocus=zq()>`, `</textarea><b zq=1>`,
	`</title><b zq=1>`, `</script><b zq=1>`, `</style><b zq=1>`, `--><b zq=1><!--`, `<!--zq`, `]]><b zq=1>`, `<![CDATA[<b zq=1>]]>`, `<?zq ?>`, `<!DOCTYPE zq [<!ENTITY x "y">]>`,
	`<details open ontoggle=zq()>`, `<video><source onerror=zq()>`, `<audio src=zq onerror=zq()>`, `<marquee onstart=zq()>`, `<template><b zq=1>`, `<slot name=zq>`,
	`<zq-x>`, `<x zq=1 onclick=zq()>`, `<a href="javascript:zq()">zq</a>`, `<a href=data:text/html,zq>`, `<a href=" &#106;avascript:zq()">`, `<a ping=//zq href=/>`,
	`" zq="1`, `' zq='1`, "` zq=`1", `" onmouseover="zq()`, `' onmouseover='zq()`, `" autofocus onfocus=zq() x="`, `"><b zq=1>`, `'><b zq=1>`, `/><b zq=1>`, `x onerror=zq() zq=1`,
	`javascript:zq()`, `JaVaScRiPt:zq()`, `data:text/html,<script>zq()</script>`, `vbscript:zq`, `//zq.example/x`, `https://zq.example/"><b zq=1>`, `/\zq.example`,
	`&lt;script&gt;zq()&lt;/script&gt;`, `&#60;b zq=1&#62;`, `&quot; zq=&quot;1`, `\u003cb zq=1\u003e`, `\x3cb zq=1\x3e`, `%3Cb%20zq=1%3E`, `+ADw-b zq=1+AD4-`, `＜b zq=1＞`, `‹b zq=1›`,
	`{{zq}}`, `${zq}`, `#{zq}`, `<%= zq %>`, `{%zq%}`, `[[zq]]`, `@zq()`, `{ zq... }`, `<?php zq();?>`,
	`=HYPERLINK("//zq")`, `@SUM(zq)`, `+zq|' /C x'!A0`, `'; drop table card; --zq`, `" or ""="zq`, `zq\"; x`, `\'; zq(); //`, `\"); zq(); ("`, `*/zq()/*`, `<b>zq</b>`,
}

// payloads are the seeds, each by itself and behind what closes an attribute
// or an element, each with a number to know it by. None has more than 80
// characters, which every field takes but for the shortest.
func payloads() []string {
	var out []string
	for i, s := range seeds {
		out = append(out, s)
		if i%2 == 0 {
			out = append(out, `">`+s)
		} else {
			out = append(out, `'>`+s)
		}
	}
	for i := range out {
		out[i] = "zq" + strconv.Itoa(100+i) + " " + out[i]
	}
	return slices.DeleteFunc(out, func(s string) bool { return len([]rune(s)) > 80 })
}

// short is a payload for a field that takes few characters.
func short(s string, most int) string {
	cs := []rune(s)
	return strings.TrimSpace(string(cs[:min(len(cs), most)]))
}
