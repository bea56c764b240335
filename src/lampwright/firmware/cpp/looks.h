// What the pixels show: one function for each look and its settings.
//
// t is the frame's number within its cue. Numbers are whole: a value with p binary places
// stands for itself divided by 2 to the power p. Included by show.cpp alone, which has put().
#pragma once

@{tables}@{functions}
