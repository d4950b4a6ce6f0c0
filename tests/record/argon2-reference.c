/* Argon2id by the text of RFC 9106, section 3. BLAKE2b is the library's.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "argon2-reference.h"

#include <sodium.h>
#include <string.h>

#define WORDS 128 /* of a block of 1024 bytes */
#define SLICES 4

typedef struct
{
  guint64 w[WORDS];
} Block;

static void
le32 (GByteArray *out,
      guint32 value)
{
  value = GUINT32_TO_LE (value);
  g_byte_array_append (out, (const guint8 *) &value, 4);
}

static void
with_length (GByteArray *out,
             Argon2Text text)
{
  le32 (out, text.length);
  if (text.length > 0)
    g_byte_array_append (out, text.data, text.length);
}

/* 3.3: H' */
static void
variable_hash (const guint8 *data,
               gsize length,
               guint8 *out,
               guint32 n)
{
  g_autoptr (GByteArray) first = g_byte_array_new ();
  guint8 v[64];

  le32 (first, n);
  g_byte_array_append (first, data, (guint) length);
  if (n <= 64)
    {
      crypto_generichash_blake2b (out, n, first->data, first->len, NULL, 0);
      return;
    }
  crypto_generichash_blake2b (v, 64, first->data, first->len, NULL, 0);
  memcpy (out, v, 32);
  for (n -= 32, out += 32; n > 64; n -= 32, out += 32)
    {
      guint8 next[64];

      crypto_generichash_blake2b (next, 64, v, 64, NULL, 0);
      memcpy (v, next, 64);
      memcpy (out, v, 32);
    }
  crypto_generichash_blake2b (out, n, v, 64, NULL, 0);
}

static guint64
rotate (guint64 x,
        int n)
{
  return (x >> n) | (x << (64 - n));
}

/* 3.6: GB */
static void
mix (guint64 *a,
     guint64 *b,
     guint64 *c,
     guint64 *d)
{
#define STEP(x, y) (*(x) + *(y) + 2 * (*(x) & 0xffffffff) * (*(y) & 0xffffffff))
  *a = STEP (a, b);
  *d = rotate (*d ^ *a, 32);
  *c = STEP (c, d);
  *b = rotate (*b ^ *c, 24);
  *a = STEP (a, b);
  *d = rotate (*d ^ *a, 16);
  *c = STEP (c, d);
  *b = rotate (*b ^ *c, 63);
}

/* 3.6: P over sixteen words. */
static void
permute (guint64 *v[16])
{
  for (int i = 0; i < 4; i++)
    mix (v[i], v[i + 4], v[i + 8], v[i + 12]);
  for (int i = 0; i < 4; i++)
    mix (v[i], v[4 + (i + 1) % 4], v[8 + (i + 2) % 4], v[12 + (i + 3) % 4]);
}

/* 3.5: G */
static Block
compress (const Block *x,
          const Block *y)
{
  Block r, z;
  guint64 *v[16];

  for (int i = 0; i < WORDS; i++)
    r.w[i] = x->w[i] ^ y->w[i];
  z = r;
  for (int row = 0; row < 8; row++)
    {
      for (int i = 0; i < 16; i++)
        v[i] = &z.w[16 * row + i];
      permute (v);
    }
  for (int column = 0; column < 8; column++)
    {
      for (int i = 0; i < 16; i++)
        v[i] = &z.w[16 * (i / 2) + 2 * column + i % 2];
      permute (v);
    }
  for (int i = 0; i < WORDS; i++)
    z.w[i] ^= r.w[i];

  return z;
}

typedef struct
{
  Block *blocks;
  guint32 lanes, columns, segment, passes, total;
} Memory;

/* 3.4.1.2: the words for one segment where they don't depend on the data. */
static guint64
independent (const Memory *memory,
             guint32 pass,
             guint32 lane,
             guint32 slice,
             guint32 index)
{
  Block zero = { { 0 } };
  Block input = { { pass, lane, slice, memory->total, memory->passes, 2, index / WORDS + 1 } };
  Block once = compress (&zero, &input);
  Block twice = compress (&zero, &once);

  return twice.w[index % WORDS];
}

/* 3.4.2 */
static const Block *
reference_block (const Memory *memory,
                 guint32 pass,
                 guint32 lane,
                 guint32 slice,
                 guint32 index,
                 guint64 words)
{
  guint64 j1 = words & 0xffffffff;
  guint32 l = pass == 0 && slice == 0 ? lane : (guint32) ((words >> 32) % memory->lanes);
  guint32 finished = pass == 0 ? slice * memory->segment : memory->columns - memory->segment;
  guint32 size = l == lane ? finished + index - 1 : finished - (index == 0 ? 1 : 0);
  guint32 start = pass == 0 || slice == SLICES - 1 ? 0 : (slice + 1) * memory->segment;
  guint64 x = (j1 * j1) >> 32;
  guint32 z = size - 1 - (guint32) ((size * x) >> 32);

  return &memory->blocks[l * memory->columns + (start + z) % memory->columns];
}

static void
fill_segment (const Memory *memory,
              guint32 pass,
              guint32 lane,
              guint32 slice)
{
  for (guint32 index = pass == 0 && slice == 0 ? 2 : 0; index < memory->segment; index++)
    {
      guint32 column = slice * memory->segment + index;
      Block *block = &memory->blocks[lane * memory->columns + column];
      const Block *previous = &memory->blocks[lane * memory->columns + (column + memory->columns - 1) % memory->columns];
      guint64 words = pass == 0 && slice < 2 ? independent (memory, pass, lane, slice, index) : previous->w[0];
      Block made = compress (previous, reference_block (memory, pass, lane, slice, index, words));

      for (int i = 0; i < WORDS; i++)
        block->w[i] = pass == 0 ? made.w[i] : block->w[i] ^ made.w[i];
    }
}

void
argon2id_reference (Argon2Text password,
                    Argon2Text salt,
                    Argon2Text secret,
                    Argon2Text associated,
                    guint32 lanes,
                    guint32 memory_kib,
                    guint32 passes,
                    guint8 *tag,
                    guint32 tag_length)
{
  g_autoptr (GByteArray) head = g_byte_array_new ();
  guint32 columns = SLICES * (memory_kib / (SLICES * lanes));
  Memory memory = { g_new0 (Block, lanes * columns), lanes, columns, columns / SLICES, passes, lanes * columns };
  Block last = { { 0 } };
  guint8 h0[64 + 8];

  le32 (head, lanes);
  le32 (head, tag_length);
  le32 (head, memory_kib);
  le32 (head, passes);
  le32 (head, 0x13);
  le32 (head, 2);
  with_length (head, password);
  with_length (head, salt);
  with_length (head, secret);
  with_length (head, associated);
  crypto_generichash_blake2b (h0, 64, head->data, head->len, NULL, 0);

  for (guint32 lane = 0; lane < lanes; lane++)
    for (guint32 column = 0; column < 2; column++)
      {
        guint32 numbers[2] = { GUINT32_TO_LE (column), GUINT32_TO_LE (lane) };

        memcpy (h0 + 64, numbers, 8);
        variable_hash (h0, sizeof h0, (guint8 *) &memory.blocks[lane * columns + column], sizeof (Block));
      }
  for (guint32 pass = 0; pass < passes; pass++)
    for (guint32 slice = 0; slice < SLICES; slice++)
      for (guint32 lane = 0; lane < lanes; lane++)
        fill_segment (&memory, pass, lane, slice);
  for (guint32 lane = 0; lane < lanes; lane++)
    for (int i = 0; i < WORDS; i++)
      last.w[i] ^= memory.blocks[lane * columns + columns - 1].w[i];
  variable_hash ((const guint8 *) &last, sizeof last, tag, tag_length);
  g_free (memory.blocks);
}
