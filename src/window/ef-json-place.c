/* Following a JSON path through the text itself.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The text is followed, not the parsed tree: a tree no longer knows where its values stood.
 */
#include "config.h"

#include "ef-json-place.h"

#include <string.h>

#define MAX_DEPTH 64

static const char *
skip_space (const char *p)
{
  while (*p != '\0' && strchr (" \t\r\n", *p) != NULL)
    p++;
  return p;
}

/* Past the closing quote; NULL where there is none. */
static const char *
skip_string (const char *p)
{
  if (*p != '"')
    return NULL;
  for (p++; *p != '\0'; p++)
    {
      if (*p == '\\' && p[1] != '\0')
        p++;
      else if (*p == '"')
        return p + 1;
    }
  return NULL;
}

/* Past a whole value, by counting brackets outside strings; NULL where it has no end. */
static const char *
skip_value (const char *p)
{
  int depth = 0;

  p = skip_space (p);
  if (*p == '"')
    return skip_string (p);
  if (*p != '{' && *p != '[')
    {
      const char *start = p;

      while (*p != '\0' && strchr (",]} \t\r\n", *p) == NULL)
        p++;
      return p > start ? p : NULL;
    }
  while (*p != '\0')
    {
      if (*p == '"')
        {
          p = skip_string (p);
          if (p == NULL)
            return NULL;
          continue;
        }
      if (*p == '{' || *p == '[')
        depth++;
      if (*p == '}' || *p == ']')
        depth--;
      p++;
      if (depth == 0)
        return p;
    }
  return NULL;
}

/* Start of the member's value in the object at @p; NULL where it isn't. */
static const char *
find_member (const char *p,
             const char *name,
             gsize length)
{
  p = skip_space (p);
  if (*p != '{')
    return NULL;
  p = skip_space (p + 1);
  while (*p == '"')
    {
      const char *key = p + 1;
      const char *end = skip_string (p);

      if (end == NULL)
        return NULL;
      p = skip_space (end);
      if (*p != ':')
        return NULL;
      p = skip_space (p + 1);
      if ((gsize) (end - 1 - key) == length && strncmp (key, name, length) == 0)
        return p;
      p = skip_value (p);
      if (p == NULL)
        return NULL;
      p = skip_space (p);
      if (*p != ',')
        return NULL;
      p = skip_space (p + 1);
    }
  return NULL;
}

static const char *
find_element (const char *p,
              guint64 index)
{
  p = skip_space (p);
  if (*p != '[')
    return NULL;
  p = skip_space (p + 1);
  while (index > 0)
    {
      p = skip_value (p);
      if (p == NULL)
        return NULL;
      p = skip_space (p);
      if (*p != ',')
        return NULL;
      p = skip_space (p + 1);
      index--;
    }
  return *p == ']' || *p == '\0' ? NULL : p;
}

/* One step of the path; moves *path_io on. NULL at a step that leads nowhere. */
static const char *
follow_step (const char *value,
             const char **path_io)
{
  const char *path = *path_io;
  char *end;

  if (*path == '.')
    {
      gsize length = strcspn (path + 1, ".[");

      *path_io = path + 1 + length;
      return find_member (value, path + 1, length);
    }
  if (*path == '[')
    {
      guint64 index = g_ascii_strtoull (path + 1, &end, 10);

      if (*end != ']')
        return NULL;
      *path_io = end + 1;
      return find_element (value, index);
    }
  return NULL;
}

gboolean
ef_json_place (const char *text,
               const char *path,
               gsize *start_out,
               gsize *end_out)
{
  const char *value = skip_space (text);
  const char *end;
  int depth;

  if (*path != '$' || *value == '\0')
    return FALSE;
  path++;
  for (depth = 0; *path != '\0' && depth < MAX_DEPTH; depth++)
    {
      const char *next = follow_step (value, &path);

      if (next == NULL)
        break;
      value = next;
    }
  end = skip_value (value);
  *start_out = value - text;
  *end_out = (end != NULL ? end : text + strlen (text)) - text;
  return TRUE;
}

void
ef_json_message_place (const char *message,
                       char **path_out,
                       guint *line_out)
{
  const char *at = strstr (message, ": $");
  const char *line = strstr (message, ": line ");
  gsize length;

  *path_out = NULL;
  *line_out = 0;
  if (at != NULL)
    {
      length = strcspn (at + 2, ": ");
      *path_out = g_strndup (at + 2, length);
    }
  else if (line != NULL)
    *line_out = g_ascii_strtoull (line + strlen (": line "), NULL, 10);
}
