//! What a session is asked to lay out for the office, and gives of it.

use std::time::Duration;

use tokio_postgres::types::ToSql;
use tokio_postgres::{Error, Row};
use uuid::Uuid;

use super::Session;
use crate::store::postgres::{self, sql};
use crate::store::{OfficeRow, ShopLine};

/// Rows, a column each.
#[derive(Debug, Default)]
pub(in crate::store::postgres) struct OfficeRows {
    lists: Vec<&'static str>,
    keys: Vec<String>,
    texts: Vec<String>,
}

impl OfficeRows {
    pub(in crate::store::postgres) fn of(rows: Vec<OfficeRow>) -> Self {
        let mut columns = Self::default();
        for row in rows {
            columns.lists.push(row.list);
            columns.keys.push(row.key);
            columns.texts.push(row.text);
        }
        columns
    }
}

impl Session {
    /// The last entry whose deeds are laid out; 0 for none.
    pub(in crate::store::postgres) async fn deeds_until(&self, book: Uuid) -> Result<i64, Error> {
        let row = self.client.query_opt(sql::DEEDS_UNTIL, &[&book]).await?;
        row.map_or(Ok(0), |row| row.try_get(0))
    }

    /// Whether deeds were added, by whoever has the right.
    pub(in crate::store::postgres) async fn add_deeds(
        &self,
        (book, holder): (Uuid, &str),
        until: i64,
        rows: &OfficeRows,
    ) -> Result<bool, Error> {
        let asked: [&(dyn ToSql + Sync); 6] =
            [&book, &holder, &until, &rows.lists, &rows.keys, &rows.texts];
        let row = self.client.query_one(sql::ADD_DEEDS, &asked).await?;
        row.try_get(0)
    }

    /// Whether answers were laid out, by whoever has the right.
    pub(in crate::store::postgres) async fn lay_out(
        &self,
        (book, holder): (Uuid, &str),
        seq: i64,
        rows: &OfficeRows,
    ) -> Result<bool, Error> {
        let asked: [&(dyn ToSql + Sync); 6] =
            [&book, &holder, &seq, &rows.lists, &rows.keys, &rows.texts];
        let row = self.client.query_one(sql::LAY_OUT, &asked).await?;
        row.try_get(0)
    }

    /// Shops by the ids of their books, after one of them.
    pub(in crate::store::postgres) async fn shops(
        &self,
        after: Option<Uuid>,
        count: i64,
    ) -> Result<Vec<ShopLine>, Error> {
        let rows = self.client.query(sql::SHOPS, &[&after, &count]).await?;
        let line = |row: &Row| -> Result<ShopLine, Error> {
            let age_ms: Option<i64> = row.try_get(4)?;
            Ok(ShopLine {
                book: row.try_get(0)?,
                name: row.try_get(1)?,
                told: row.try_get(2)?,
                cost: row.try_get(3)?,
                age: age_ms.map(|age| Duration::from_millis(postgres::count(age))),
            })
        };
        rows.iter().map(line).collect()
    }
}
