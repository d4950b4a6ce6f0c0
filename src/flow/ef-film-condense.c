/* The film between groups by condensation: cells are eliminated piece by piece until only the groups are left.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The domain is cut in two by a line of cells, each half again, and so on (nested dissection). A piece, all its inner cells eliminated, is a dense
 * matrix between the cells on its border and the groups it touches. Two pieces and the line between them make the next larger piece; at the root only
 * the groups are left, and that matrix is what is asked for. The matrices of the larger pieces are kept, so that after an edit only the pieces
 * that hold a changed link are worked out again. Where to cut, and what borders on what, is found once for each domain.
 */
#include "ef-film-private.h"

#include "../base/ef-error.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAF 24  /* cells that are eliminated together at the bottom */
#define KEEP 500 /* a piece of at least so many cells is kept */
#define NONE (-1)

/* The compiler is told to use wide registers where the processor has them: the sums stay the same, number by number. */
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && !defined(__SANITIZE_ADDRESS__)
#define WIDE __attribute__ ((optimize ("O3"), target_clones ("avx2", "default")))
#else
#define WIDE
#endif

/* A link where the first of its ends is eliminated; places of its ends in that piece's matrix. */
typedef struct
{
  guint link; /* inner ones first, then those to groups */
  guint16 first, second;
} Entry;

/* Places are numbered in the order of elimination, the groups behind all cells. A piece's own cells have numbers in a row. */
typedef struct
{
  guint first, n_own;      /* cells eliminated here */
  guint border, n_border;  /* in tree->borders, rising */
  guint entry, n_entries;
  int child[2], parent;
  guint map[2];            /* in tree->maps: where each place on a child's border is in this piece's matrix */
  guint cells;             /* with those of the pieces below */
} Piece;

struct _EfCondenseTree
{
  guint n_inner, n_links;
  GArray *pieces;  /* Piece, children before parents */
  GArray *borders; /* guint */
  GArray *maps;    /* guint16 */
  Entry *entries;
  guint most; /* side of the largest matrix */
};

struct _EfCondense
{
  const EfCondenseTree *tree;
  guint n_groups;
  gboolean has_last;
  double *last;   /* links that the kept matrices are for */
  double **kept;  /* of each piece, or NULL; lower triangle by columns */
  guint8 *dirty;
  double *front;
};

/* Where to cut */

typedef struct
{
  const EfFilmDomain *domain;
  EfCondenseTree *tree;
  int *cells;    /* in order of elimination */
  guint *counts; /* scratch, one a grid line */
} Cutter;

static guint
coordinate (const Cutter *cutter,
            int cell,
            int axis)
{
  return axis == 0 ? cutter->domain->column[cell] : cutter->domain->row[cell];
}

/* The line with the fewest cells that leaves at least a third on either side, else the middle one. */
static guint
choose_line (Cutter *cutter,
             guint from,
             guint to,
             int axis,
             guint low,
             guint high)
{
  guint n = to - from;
  guint below = 0, best_count = G_MAXUINT, best = (low + high) / 2;

  memset (cutter->counts, 0, (high - low + 1) * sizeof (guint));
  for (guint k = from; k < to; k++)
    cutter->counts[coordinate (cutter, cutter->cells[k], axis) - low]++;
  for (guint line = low; line <= high; line++)
    {
      guint count = cutter->counts[line - low];

      if (3 * below >= n && 3 * (n - below - count) >= n && count < best_count)
        {
          best_count = count;
          best = line;
        }
      below += count;
    }

  return best;
}

static void
find_extent (const Cutter *cutter,
             guint from,
             guint to,
             guint low[2],
             guint high[2])
{
  low[0] = low[1] = G_MAXUINT;
  high[0] = high[1] = 0;
  for (guint k = from; k < to; k++)
    for (int axis = 0; axis < 2; axis++)
      {
        guint at = coordinate (cutter, cutter->cells[k], axis);

        low[axis] = MIN (low[axis], at);
        high[axis] = MAX (high[axis], at);
      }
}

/* Puts the cells below the line first, those above it next, those on it last. */
static void
sort_by_line (Cutter *cutter,
              guint from,
              guint to,
              int axis,
              guint line,
              guint *first_above,
              guint *first_on)
{
  g_autofree int *copy = g_memdup2 (cutter->cells + from, (to - from) * sizeof (int));
  guint at = from;

  for (int part = 0; part < 3; part++)
    {
      if (part == 1)
        *first_above = at;
      if (part == 2)
        *first_on = at;
      for (guint k = 0; k < to - from; k++)
        {
          guint place = coordinate (cutter, copy[k], axis);

          if (part == 0 ? place < line : part == 1 ? place > line : place == line)
            cutter->cells[at++] = copy[k];
        }
    }
}

/* Returns the number of the piece that all these cells make, NONE when there are none. */
static int
cut (Cutter *cutter,
     guint from,
     guint to)
{
  Piece piece = { .first = from, .n_own = to - from, .child = { NONE, NONE }, .parent = NONE, .cells = to - from };

  if (from == to)
    return NONE;
  if (to - from > LEAF)
    {
      guint low[2], high[2], line;
      guint above = from, on = from;
      int axis;

      find_extent (cutter, from, to, low, high);
      axis = high[0] - low[0] >= high[1] - low[1] ? 0 : 1;
      line = choose_line (cutter, from, to, axis, low[axis], high[axis]);
      sort_by_line (cutter, from, to, axis, line, &above, &on);
      piece.child[0] = cut (cutter, from, above);
      piece.child[1] = cut (cutter, above, on);
      piece.first = on;
      piece.n_own = to - on;
    }
  g_array_append_val (cutter->tree->pieces, piece);

  return (int) cutter->tree->pieces->len - 1;
}

/* What borders on what */

typedef struct
{
  const EfFilmDomain *domain;
  guint *place;    /* of each cell in the order of elimination */
  guint *piece_of; /* of each place of a cell */
  guint *start;    /* of each place's later neighbours in @later */
  guint *later;
  guint *seen;     /* of each place: the last piece, plus one, that took it */
} Borders;

static guint
link_ends (const Borders *borders,
           guint link,
           guint *second)
{
  guint n_inner = borders->domain->inner->len;
  guint a, b;

  if (link < n_inner)
    {
      const EfInnerLink *inner = &g_array_index (borders->domain->inner, EfInnerLink, link);

      a = borders->place[inner->a];
      b = borders->place[inner->b];
    }
  else
    {
      const EfBorderLink *border = &g_array_index (borders->domain->border, EfBorderLink, link - n_inner);

      a = borders->place[border->cell];
      b = borders->domain->n + (guint) border->group;
    }
  *second = MAX (a, b);

  return MIN (a, b);
}

static void
list_later (Borders *borders,
            guint n_links)
{
  guint n = borders->domain->n;
  g_autofree guint *fill = NULL;

  borders->start = g_new0 (guint, n + 1);
  borders->later = g_new (guint, MAX (n_links, 1));
  for (guint k = 0; k < n_links; k++)
    {
      guint second;

      borders->start[link_ends (borders, k, &second) + 1]++;
    }
  for (guint i = 0; i < n; i++)
    borders->start[i + 1] += borders->start[i];
  fill = g_memdup2 (borders->start, (n + 1) * sizeof (guint));
  for (guint k = 0; k < n_links; k++)
    {
      guint second;
      guint first = link_ends (borders, k, &second);

      borders->later[fill[first]++] = second;
    }
}

static int
compare_places (gconstpointer a,
                gconstpointer b)
{
  guint left = *(const guint *) a;
  guint right = *(const guint *) b;

  return (left > right) - (left < right);
}

static void
take_place (EfCondenseTree *tree,
            Borders *borders,
            const Piece *piece,
            guint number,
            guint place)
{
  if (place < piece->first + piece->n_own || borders->seen[place] == number + 1)
    return;
  borders->seen[place] = number + 1;
  g_array_append_val (tree->borders, place);
}

static void
find_border (EfCondenseTree *tree,
             Borders *borders,
             guint number)
{
  Piece *piece = &g_array_index (tree->pieces, Piece, number);

  piece->border = tree->borders->len;
  for (guint k = borders->start[piece->first]; k < borders->start[piece->first + piece->n_own]; k++)
    take_place (tree, borders, piece, number, borders->later[k]);
  for (int c = 0; c < 2; c++)
    if (piece->child[c] != NONE)
      {
        const Piece *child = &g_array_index (tree->pieces, Piece, piece->child[c]);

        for (guint k = 0; k < child->n_border; k++)
          take_place (tree, borders, piece, number, g_array_index (tree->borders, guint, child->border + k));
      }
  piece->n_border = tree->borders->len - piece->border;
  if (piece->n_border > 1)
    qsort (&g_array_index (tree->borders, guint, piece->border), piece->n_border, sizeof (guint), compare_places);
  tree->most = MAX (tree->most, piece->n_own + piece->n_border);
}

/* Where a place is in the piece's matrix. */
static guint16
find_in_piece (const EfCondenseTree *tree,
               const Piece *piece,
               guint place)
{
  const guint *border = &g_array_index (tree->borders, guint, piece->border);
  guint low = 0, high = piece->n_border;

  if (place < piece->first + piece->n_own)
    return (guint16) (place - piece->first);
  while (high - low > 1)
    {
      guint middle = (low + high) / 2;

      if (border[middle] <= place)
        low = middle;
      else
        high = middle;
    }

  return (guint16) (piece->n_own + low);
}

static void
map_children (EfCondenseTree *tree,
              guint number)
{
  Piece *piece = &g_array_index (tree->pieces, Piece, number);

  for (int c = 0; c < 2; c++)
    {
      Piece *child;

      if (piece->child[c] == NONE)
        continue;
      child = &g_array_index (tree->pieces, Piece, piece->child[c]);
      child->parent = (int) number;
      piece->map[c] = tree->maps->len;
      for (guint k = 0; k < child->n_border; k++)
        {
          guint16 at = find_in_piece (tree, piece, g_array_index (tree->borders, guint, child->border + k));

          g_array_append_val (tree->maps, at);
        }
    }
}

static void
place_entries (EfCondenseTree *tree,
               const Borders *borders)
{
  g_autofree guint *fill = NULL;
  guint at = 0;

  tree->entries = g_new (Entry, MAX (tree->n_links, 1));
  for (guint k = 0; k < tree->n_links; k++)
    {
      guint second;

      g_array_index (tree->pieces, Piece, borders->piece_of[link_ends (borders, k, &second)]).n_entries++;
    }
  fill = g_new (guint, tree->pieces->len);
  for (guint i = 0; i < tree->pieces->len; i++)
    {
      Piece *piece = &g_array_index (tree->pieces, Piece, i);

      piece->entry = fill[i] = at;
      at += piece->n_entries;
    }
  for (guint k = 0; k < tree->n_links; k++)
    {
      guint second;
      guint first = link_ends (borders, k, &second);
      guint owner = borders->piece_of[first];
      const Piece *piece = &g_array_index (tree->pieces, Piece, owner);

      tree->entries[fill[owner]++] = (Entry) { k, find_in_piece (tree, piece, first), find_in_piece (tree, piece, second) };
    }
}

static void
find_borders (EfCondenseTree *tree,
              const EfFilmDomain *domain,
              const int *cells)
{
  Borders borders = { .domain = domain };
  guint n = domain->n;

  borders.place = g_new (guint, n);
  borders.piece_of = g_new (guint, n);
  borders.seen = g_new0 (guint, n + domain->n_groups);
  for (guint i = 0; i < n; i++)
    borders.place[cells[i]] = i;
  for (guint i = 0; i < tree->pieces->len; i++)
    {
      const Piece *piece = &g_array_index (tree->pieces, Piece, i);

      for (guint k = 0; k < piece->n_own; k++)
        borders.piece_of[piece->first + k] = i;
    }
  list_later (&borders, tree->n_links);
  for (guint i = 0; i < tree->pieces->len; i++)
    {
      find_border (tree, &borders, i);
      map_children (tree, i);
    }
  place_entries (tree, &borders);
  g_free (borders.place);
  g_free (borders.piece_of);
  g_free (borders.start);
  g_free (borders.later);
  g_free (borders.seen);
}

EfCondenseTree *
ef_condense_tree_new (const EfFilmDomain *domain)
{
  EfCondenseTree *tree = g_new0 (EfCondenseTree, 1);
  Cutter cutter = { .domain = domain, .tree = tree };

  tree->n_inner = domain->inner->len;
  tree->n_links = domain->inner->len + domain->border->len;
  tree->pieces = g_array_new (FALSE, FALSE, sizeof (Piece));
  tree->borders = g_array_new (FALSE, FALSE, sizeof (guint));
  tree->maps = g_array_new (FALSE, FALSE, sizeof (guint16));
  cutter.cells = g_new (int, domain->n);
  cutter.counts = g_new (guint, domain->side);
  for (guint i = 0; i < domain->n; i++)
    cutter.cells[i] = (int) i;
  cut (&cutter, 0, domain->n);
  find_borders (tree, domain, cutter.cells);
  g_free (cutter.cells);
  g_free (cutter.counts);

  return tree;
}

void
ef_condense_tree_free (EfCondenseTree *tree)
{
  if (tree == NULL)
    return;
  g_array_unref (tree->pieces);
  g_array_unref (tree->borders);
  g_array_unref (tree->maps);
  g_free (tree->entries);
  g_free (tree);
}

/* The elimination itself */

EfCondense *
ef_condense_new (const EfFilmDomain *domain,
                 const EfCondenseTree *tree)
{
  EfCondense *self = g_new0 (EfCondense, 1);

  self->tree = tree;
  self->n_groups = domain->n_groups;
  self->last = g_new (double, MAX (tree->n_links, 1));
  self->kept = g_new0 (double *, tree->pieces->len);
  self->dirty = g_new0 (guint8, tree->pieces->len);

  return self;
}

void
ef_condense_free (EfCondense *self)
{
  if (self == NULL)
    return;
  for (guint i = 0; i < self->tree->pieces->len; i++)
    g_free (self->kept[i]);
  g_free (self->kept);
  g_free (self->last);
  g_free (self->dirty);
  g_free (self);
}

static double
link_value (const EfCondenseTree *tree,
            const EfFilmLinks *links,
            guint link)
{
  return link < tree->n_inner ? links->inner[link] : links->border[link - tree->n_inner];
}

/* Marks the pieces that hold a changed link, and all above them. */
static void
find_dirty (EfCondense *self,
            const EfFilmLinks *links)
{
  const EfCondenseTree *tree = self->tree;

  memset (self->dirty, !self->has_last, tree->pieces->len);
  for (guint i = 0; i < tree->pieces->len; i++)
    {
      const Piece *piece = &g_array_index (tree->pieces, Piece, i);

      for (guint k = 0; k < piece->n_entries && !self->dirty[i]; k++)
        {
          guint link = tree->entries[piece->entry + k].link;

          self->dirty[i] = link_value (tree, links, link) != self->last[link];
        }
      if (self->dirty[i] && piece->parent != NONE)
        self->dirty[piece->parent] = 1;
    }
}

/* column -= a0 l0 + a1 l1 + a2 l2 + a3 l3 */
WIDE static void
subtract_four (double *restrict column,
               const double *restrict l,
               gsize stride,
               const double *restrict a,
               guint n)
{
  const double *l1 = l + stride;
  const double *l2 = l1 + stride;
  const double *l3 = l2 + stride;

  for (guint i = 0; i < n; i++)
    column[i] -= a[0] * l[i] + a[1] * l1[i] + a[2] * l2[i] + a[3] * l3[i];
}

static void
subtract_one (double *restrict column,
              const double *restrict l,
              double a,
              guint n)
{
  for (guint i = 0; i < n; i++)
    column[i] -= a * l[i];
}

/* Cholesky of the first @n_own columns of the lower triangle, four at a time; what remains behind them is the condensed matrix. */
static gboolean
eliminate (double *front,
           guint m,
           guint n_own)
{
  for (guint k = 0; k < n_own; k += 4)
    {
      guint block = MIN (4, n_own - k);

      for (guint c = k; c < k + block; c++)
        {
          double *column = front + (gsize) c * m;
          double root;

          for (guint b = k; b < c; b++)
            subtract_one (column + c, front + (gsize) b * m + c, front[(gsize) b * m + c], m - c);
          if (!(column[c] > 0.0))
            return FALSE;
          root = sqrt (column[c]);
          for (guint r = c; r < m; r++)
            column[r] /= root;
        }
      for (guint c = k + block; c < m; c++)
        {
          double *column = front + (gsize) c * m;
          double a[4];

          for (guint b = 0; b < block; b++)
            a[b] = front[(gsize) (k + b) * m + c];
          if (block == 4)
            subtract_four (column + c, front + (gsize) k * m + c, m, a, m - c);
          else
            for (guint b = 0; b < block; b++)
              subtract_one (column + c, front + (gsize) (k + b) * m + c, a[b], m - c);
        }
    }

  return TRUE;
}

static void
assemble (EfCondense *self,
          const Piece *piece,
          const EfFilmLinks *links,
          guint m)
{
  const EfCondenseTree *tree = self->tree;

  memset (self->front, 0, (gsize) m * m * sizeof (double));
  for (guint k = 0; k < piece->n_entries; k++)
    {
      const Entry *entry = &tree->entries[piece->entry + k];
      double value = link_value (tree, links, entry->link);

      self->front[(gsize) entry->first * m + entry->first] += value;
      self->front[(gsize) entry->second * m + entry->second] += value;
      self->front[(gsize) MIN (entry->first, entry->second) * m + MAX (entry->first, entry->second)] -= value;
    }
}

/* Adds a child's matrix, both lower triangles by columns, the child's packed. */
static void
add_child (EfCondense *self,
           const Piece *child,
           guint map,
           const double *matrix,
           guint m)
{
  const guint16 *at = &g_array_index (self->tree->maps, guint16, map);

  for (guint c = 0; c < child->n_border; c++)
    {
      double *column = self->front + (gsize) at[c] * m;

      for (guint r = c; r < child->n_border; r++)
        column[at[r]] += *matrix++;
    }
}

static double *
pack (const double *front,
      guint m,
      guint n_own,
      double *packed)
{
  double *out = packed;

  for (guint c = n_own; c < m; c++)
    {
      memcpy (out, front + (gsize) c * m + c, (m - c) * sizeof (double));
      out += m - c;
    }

  return packed;
}

/* The matrix of a piece; it's the caller's to free where the piece isn't one that is kept. NULL: not positive definite. */
static double *
condense (EfCondense *self,
          guint number,
          const EfFilmLinks *links)
{
  const Piece *piece = &g_array_index (self->tree->pieces, Piece, number);
  gboolean keep = piece->cells >= KEEP || piece->parent == NONE;
  guint m = piece->n_own + piece->n_border;
  double *below[2] = { NULL, NULL };
  double *out = NULL;
  gboolean ok = TRUE;

  if (keep && !self->dirty[number] && self->kept[number] != NULL)
    return self->kept[number];
  for (int c = 0; c < 2 && ok; c++)
    if (piece->child[c] != NONE)
      {
        below[c] = condense (self, piece->child[c], links);
        ok = below[c] != NULL;
      }
  if (ok)
    {
      assemble (self, piece, links, m);
      for (int c = 0; c < 2; c++)
        if (piece->child[c] != NONE)
          add_child (self, &g_array_index (self->tree->pieces, Piece, piece->child[c]), piece->map[c], below[c], m);
      ok = eliminate (self->front, m, piece->n_own);
    }
  if (ok && keep && self->kept[number] == NULL)
    self->kept[number] = g_new (double, (gsize) piece->n_border * (piece->n_border + 1) / 2 + 1);
  if (ok)
    out = pack (self->front, m, piece->n_own, keep ? self->kept[number] : g_new (double, (gsize) piece->n_border * (piece->n_border + 1) / 2 + 1));
  for (int c = 0; c < 2; c++)
    if (piece->child[c] != NONE && below[c] != self->kept[piece->child[c]])
      g_free (below[c]);

  return out;
}

static void
remember (EfCondense *self,
          const EfFilmLinks *links)
{
  const EfCondenseTree *tree = self->tree;

  memcpy (self->last, links->inner, tree->n_inner * sizeof (double));
  memcpy (self->last + tree->n_inner, links->border, (tree->n_links - tree->n_inner) * sizeof (double));
  self->has_last = TRUE;
}

gboolean
ef_condense_solve (EfCondense *self,
                   const EfFilmLinks *links,
                   double *c,
                   guint *pieces_out,
                   GError **error)
{
  const EfCondenseTree *tree = self->tree;
  guint root = tree->pieces->len - 1;
  const Piece *piece = &g_array_index (tree->pieces, Piece, root);
  const guint *border = &g_array_index (tree->borders, guint, piece->border);
  guint n_cells = piece->first + piece->n_own;
  const double *matrix;

  find_dirty (self, links);
  *pieces_out = 0;
  for (guint i = 0; i < tree->pieces->len; i++)
    *pieces_out += self->dirty[i];
  /* Until it's all done the kept matrices are for no links at all. */
  self->has_last = FALSE;
  self->front = g_new (double, (gsize) tree->most * tree->most);
  matrix = condense (self, root, links);
  g_clear_pointer (&self->front, g_free);
  if (matrix == NULL)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "film: the system isn't positive definite");
      return FALSE;
    }
  remember (self, links);
  memset (c, 0, self->n_groups * self->n_groups * sizeof (double));
  for (guint i = 0; i < piece->n_border; i++)
    for (guint k = i; k < piece->n_border; k++)
      {
        guint g = border[i] - n_cells;
        guint h = border[k] - n_cells;

        c[g * self->n_groups + h] = c[h * self->n_groups + g] = *matrix++;
      }

  return TRUE;
}
