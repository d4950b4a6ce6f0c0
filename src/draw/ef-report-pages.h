/* The paper side of the report: pages, flowing text, tables, and what is drawn on each page.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Everything is laid out first, into a list of things a page; drawing a page then only plays its list. Nothing is ever cut off:
 * text that doesn't fit goes on overleaf line by line, and tables repeat their head.
 */
#pragma once

#include "ef-draw-text.h"

G_BEGIN_DECLS

typedef struct _EfPages EfPages;

/* Draws into a box of its own with the corner at the origin. */
typedef void (*EfPageDraw) (cairo_t *cr, const EfDrawStyle *style, gpointer data, double width, double height);

/* Empty pages with @head at the top of each but the first, @foot and the page number at the bottom. All lengths here in points of 1/72 in. */
EfPages *ef_pages_new (EfPaper paper, const char *head, const char *foot);
void ef_pages_free (EfPages *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfPages, ef_pages_free)
/* Borrowed: the look of print. */
const EfDrawStyle *ef_pages_style (EfPages *self);
/* A4 (ISO 216) or Letter, points. */
void ef_paper_size (EfPaper paper, double *width, double *height);

double ef_pages_width (EfPages *self); /* of the text block */
double ef_pages_room (EfPages *self);  /* left on this page */
double ef_pages_full (EfPages *self);  /* room of an empty page */
void ef_pages_break (EfPages *self);   /* a new page, unless this one is empty */
void ef_pages_need (EfPages *self, double height); /* a new page if less is left */
/* Room before what follows, unless the page is still empty. */
void ef_pages_space (EfPages *self, double height);
/* Moves the cursor: down for what is above 0. */
void ef_pages_move (EfPages *self, double up_or_down);

/* A heading with a rule under it, kept with @with more units. */
void ef_pages_heading (EfPages *self, const char *text, double with);
void ef_pages_subheading (EfPages *self, const char *text, double with);
/* Flowing text, moved in by @indent. @share: of the text size. */
void ef_pages_text (EfPages *self, const char *text, double share, EfTextFlags flags, EfInk ink, double indent);
/* Laid out for @width, @share of the text size; belongs to the caller. */
PangoLayout *ef_pages_layout (EfPages *self, const char *text, double share, EfTextFlags flags, double width);
/* Without moving the cursor, @dx from the left, @dy below the cursor. */
void ef_pages_put (EfPages *self, PangoLayout *layout, EfInk ink, double dx, double dy);
void ef_pages_verdict (EfPages *self, EfVerdictWord word, double dx, double dy, double size);
void ef_pages_rule (EfPages *self, double dx, double dy, double width, EfInk ink, double thick);
void ef_pages_frame (EfPages *self, double dx, double dy, double width, double height, EfInk ink, double thick);
/* @data is freed with @destroy when the report is. */
void ef_pages_picture (EfPages *self, double dx, double dy, double width, double height, EfPageDraw draw, gpointer data, GDestroyNotify destroy);
/* A small box to tick; @state 1: ticked. @caution: the warning triangle instead. */
void ef_pages_tick_box (EfPages *self, double dx, double dy, double size, gboolean ticked);
void ef_pages_caution_sign (EfPages *self, double dx, double dy, double size);

/* Tables. @shares: widths; a cell may carry a verdict's or a mark kind's glyph before its words. */
typedef struct
{
  const char *text;
  int verdict; /* -1 none */
  int kind;    /* -1 none */
} EfPageCell;

#define EF_PAGE_CELL(words) ((EfPageCell) { (words), -1, -1 })

/* @columns heads and widths, these in any unit; rows have as many cells and go on overleaf under a repeated head. Texts are copied. One table at a time. */
void ef_pages_table_begin (EfPages *self, guint columns, const char *const *heads, const double *shares);
void ef_pages_table_row (EfPages *self, const EfPageCell *cells);
void ef_pages_table_end (EfPages *self);

/* How many pages there are, and one of them (0 …) onto @cr; a page that isn't there draws nothing. */
guint ef_pages_count (EfPages *self);
void ef_pages_draw (EfPages *self, guint page, cairo_t *cr);
/* Headings with their pages (0 …), for the file's outline. */
typedef struct
{
  char *text;
  guint page;
  double y;
} EfPageMark;
GArray *ef_pages_outline (EfPages *self);

G_END_DECLS
