/** What a code means, and how the command ends when a problem of this code stops it. */
export interface CatalogueEntry {
  readonly title: string;
  /** 1: the project or its data say no. 2: wrong use or configuration. */
  readonly exit: 1 | 2;
}

/**
 * Every problem a person can meet, by permanent code. A code is never renamed or reused; a message may be
 * improved at any time.
 */
export const catalogue = {
  USE_FOLDER_MISSING: { title: 'The project folder does not exist', exit: 2 },
  USE_OUTPUT_TAKEN: { title: 'What stands in the place of the output is not replaced', exit: 2 },
  USE_OPTION: { title: 'Options do not fit together', exit: 2 },
  USE_FILE_MISSING: { title: 'The file does not exist', exit: 2 },
  USE_LOCKED: { title: 'Another command is writing to this store', exit: 2 },

  PROJECT_MISSING: { title: 'The folder has no project file', exit: 1 },
  PROJECT_SYNTAX: { title: 'The project file is not valid YAML', exit: 1 },
  PROJECT_KEY: { title: 'The project file has a key that is not known', exit: 1 },
  PROJECT_VALUE: { title: 'A value in the project file is not allowed', exit: 1 },
  PROJECT_REFERENCE: { title: 'The project file names something it does not define', exit: 1 },
  PROJECT_DUPLICATE: { title: 'Two things in the project file have the same name', exit: 1 },

  INPUT_NONE: { title: 'No input file matches', exit: 1 },
  INPUT_PLACE: { title: 'A file lies outside the project folder', exit: 1 },
  INPUT_NOT_TEXT: { title: 'The file is not text', exit: 1 },
  INPUT_EMPTY: { title: 'The file holds no rows', exit: 1 },
  INPUT_COLUMN: { title: 'A declared column is missing', exit: 1 },
  INPUT_ROW: { title: 'A row could not be read', exit: 1 },
  INPUT_CUT: { title: 'The file ends in the middle of a row', exit: 1 },
  INPUT_TIME: { title: 'A time is not usable', exit: 1 },
  INPUT_NUMBER: { title: 'A number is not usable', exit: 1 },
  INPUT_STATION: { title: 'A row names a station that the project does not know', exit: 1 },
  INPUT_POSITION: { title: 'A position is far from where its station stands', exit: 1 },
  INPUT_COVARIANCE: { title: 'A covariance is not positive semi-definite', exit: 1 },

  WORDS_FILE: { title: 'The file of translations cannot be used', exit: 1 },
  WORDS_MESSAGE: { title: 'A translation does not fit its message', exit: 1 },

  OUTLINE_INVALID: { title: 'The outline of the site cannot be drawn', exit: 1 },
  BACKGROUND_INVALID: { title: 'The background of the map cannot be drawn', exit: 1 },

  STORE_EMPTY: { title: 'The store holds no epochs', exit: 1 },
  STORE_CONFLICT: { title: 'Two different positions stand for one station and time', exit: 1 },
  STORE_UNREADABLE: { title: 'A file of the store cannot be read', exit: 1 },
  STORE_VERSION: { title: 'The store was written by a later version', exit: 1 },
  STORE_ENGINE: { title: 'The database engine of the store cannot be loaded', exit: 1 },
  STORE_OTHER: { title: 'Two stores stand where one is asked for', exit: 2 },
  STORE_REMOTE: { title: 'The store in object storage cannot be used', exit: 1 },
  STORE_UNWRITABLE: { title: 'The store cannot be written', exit: 1 },

  REFERENCE_STATION: { title: 'No reference position can be committed for this station', exit: 1 },
  REFERENCE_PERIOD: { title: 'The reference period is not usable', exit: 1 },

  SNAPSHOT_FILE: { title: 'A file of the snapshot is missing, changed or added', exit: 1 },
  REPORT_NOT_PRINTED: { title: 'The report was not printed', exit: 1 },
  SNAPSHOT_FORMAT: { title: 'This is not a snapshot that this version can read', exit: 1 },

  ARCHIVE_SITE: { title: 'The site does not belong to the project as it stands', exit: 1 },
  ARCHIVE_INPUTS: { title: 'From what would be archived the site cannot be computed again', exit: 1 },
  ARCHIVE_CHANGED: { title: 'A file changed while it was read', exit: 1 },
  ARCHIVE_NAME: { title: 'A file has a name that cannot stand in an archive', exit: 1 },
  ARCHIVE_FORMAT: { title: 'This is not an archive that this version can read', exit: 1 },
  ARCHIVE_FILE: { title: 'A file of the archive is missing, changed or added', exit: 1 },
  ARCHIVE_UNSAFE: { title: 'The archive holds what must not be unpacked', exit: 1 },
  PUBLISH_OLDER: { title: 'What is published is of a later time', exit: 1 },
  PUBLISH_PROJECT: { title: 'What is published is of another project', exit: 1 },
  PUBLISH_LINK: { title: 'The disk cannot hold the link to the newest snapshot', exit: 1 },
  PUBLISH_KEPT: { title: 'An old version is not as it was published, and is kept', exit: 1 },
  NOTIFY_FAILED: { title: 'The command that is told of changes failed', exit: 1 },
  MACHINE_LACKS: { title: 'The machine lacks something that is needed', exit: 1 },

  GEODESY_RANGE: { title: 'A coordinate is out of range', exit: 1 },
  GEODESY_COVARIANCE: { title: 'A covariance matrix is not positive semi-definite', exit: 1 },
  GEODESY_FRAME: { title: 'A reference frame or plate is not known', exit: 1 },
  GEODESY_EPOCH: { title: 'Coordinates in a dynamic frame need an epoch', exit: 1 },
  GEODESY_PROJECTION: { title: 'A map projection is not known, or has no value there', exit: 1 },
  BENCH_REJECTED: { title: 'A receiver does not show what is stated of it', exit: 1 },
  ESTIMATION_INPUT: { title: 'An estimate cannot be made from these data', exit: 1 },
} as const satisfies Record<string, CatalogueEntry>;

export type ProblemCode = keyof typeof catalogue;
